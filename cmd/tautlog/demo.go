package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"os"
	"time"

	"github.com/spf13/cobra"

	"tautlog/ingest/rehearse"
	"tautlog/ingest/store"
	"tautlog/ingest/wire"
)

// newDemo is the whole tool with simulated cells.
func newDemo() *cobra.Command {
	var data, listen, asked string
	var seed uint64
	var cellOnly bool
	c := &cobra.Command{
		Use:   "demo",
		Short: "Show the whole tool with a simulated cell and made-up pulls",
		Long: `Starts the daemon and its pages on a store of its own, and two simulated load cells that write real bytes to real
pseudo-terminals, which the daemon opens as it opens any serial device. The club, its gear and its pulls are made up.

The store is thrown away at the end, unless --data names a directory to keep it in. What is kept says that it is made up
to serve and report, too; a store that was filled otherwise is refused.

With --cell-only there is a simulated cell and nothing else: it says at which port it stands, and pulls come on it until
it is stopped. Set it up in a store for rehearsing, as a real one, and try the whole of a test day with your own gear.`,
		Args: noArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			world := rehearse.NewWorld()
			if asked != "" {
				if err := world.Ask(wire.Format(asked)); err != nil {
					return usagef("--asked: %w", err)
				}
			}
			if cellOnly {
				return rehearseCell(c.Context(), world.Benches[0], seed, c.OutOrStdout())
			}
			pages, err := listenPages(listen, !c.Flags().Changed("listen"), nil)
			if err != nil {
				return err
			}
			defer pages.Close()
			return runDemo(c.Context(), demoOptions{
				data: data, seed: seed, world: world, pages: pages, stdout: c.OutOrStdout(),
				log: slog.New(slog.NewTextHandler(c.ErrOrStderr(), &slog.HandlerOptions{Level: slog.LevelWarn})),
			})
		},
	}
	c.Flags().StringVar(&data, "data", "", "directory to keep the demonstration's store in; thrown away when not given")
	c.Flags().StringVar(&listen, "listen", defaultListen, "address and port of the pages, on this machine only")
	c.Flags().Uint64Var(&seed, "seed", uint64(time.Now().UnixNano()), "the same seed gives the same pulls; another one each time unless given")
	c.Flags().Lookup("seed").DefValue = "0" // what the help is not to tell
	c.Flags().StringVar(&asked, "asked", "", "how the second cell is asked, which then sends nothing by itself: text (a string is answered with a line) or modbus")
	c.Flags().BoolVar(&cellOnly, "cell-only", false, "only a simulated cell, to rehearse with a store of your own")
	c.MarkFlagsMutuallyExclusive("cell-only", "data")
	c.MarkFlagsMutuallyExclusive("cell-only", "listen")
	return c
}

// rehearseCell is a cell on its own until ctx ends, to be set up as a real one.
func rehearseCell(ctx context.Context, b rehearse.Bench, seed uint64, out io.Writer) error {
	s, err := rehearse.Start(context.WithoutCancel(ctx), rehearse.Options{Cell: b.Cell, Script: b.Script, Seed: seed})
	if err != nil {
		return err
	}
	if !s.Real() {
		return errors.Join(fmt.Errorf("this system has no pseudo-terminals, which --cell-only needs: %s", s.Note()), s.Close())
	}
	fmt.Fprintf(out, `A simulated load cell stands at the port
%s
It sends %d readings a second, and the first pull comes within ten seconds. All that it
sends is made up: keep it out of the club's own store. In another window:

    tautlog serve --data rehearsal

Then, on the page Cells, set a cell up at that port. Newtons from its counts, as a
certificate would say: %g,%g. Its rated capacity is %s. Stop with Ctrl-C.
`, s.Line().Path, int(b.Cell.Rate), b.Cell.Curve.Coefficients[0], b.Cell.Curve.Coefficients[1], b.Cell.Capacity)
	<-ctx.Done()
	return s.Close()
}

type demoOptions struct {
	data   string
	seed   uint64
	world  rehearse.World
	pages  net.Listener
	stdout io.Writer
	log    *slog.Logger
}

// runDemo fills a store with the invented world, powers its cells up and runs
// the same daemon as serve on them.
func runDemo(ctx context.Context, o demoOptions) (err error) {
	dir := o.data
	if dir == "" {
		if dir, err = os.MkdirTemp("", "tautlog-demo-"); err != nil {
			return fmt.Errorf("no room for the demonstration: %w; name a directory with --data", err)
		}
		defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	}
	st, err := store.Open(dir, store.Options{Who: byDemonstration})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()

	if err := claim(ctx, st, dir); err != nil {
		return err
	}
	world := o.world
	stage, err := newStage(ctx, st, o.log, world)
	if err != nil {
		return err
	}
	cells, sessions, err := stage.powerUp(ctx, world, o.seed)
	defer func() {
		for _, s := range sessions {
			err = errors.Join(err, s.Close())
		}
	}()
	if err != nil {
		return err
	}
	remembered := stage.remembering(ctx, world, o.seed)
	defer func() { err = errors.Join(err, <-remembered) }()
	fmt.Fprintln(o.stdout, world.Notice)
	for i, s := range sessions {
		fmt.Fprintf(o.stdout, "Cell %s: %s\n", cells[i].Name, s.Note())
	}
	fmt.Fprintf(o.stdout, "\nThe line, live: http://%s/line\nThe first pull comes within ten seconds. Stop with Ctrl-C.\n", o.pages.Addr())
	s := &station{store: st, cells: cells, log: o.log, follow: rehearse.Follow(sessions...), pages: o.pages, demo: true}
	return s.run(ctx)
}
