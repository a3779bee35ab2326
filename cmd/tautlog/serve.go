package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"tautlog/ingest/archive"
	"tautlog/ingest/store"
)

const defaultListen = "127.0.0.1:8480"

// newServe is the daemon with its pages.
func newServe() *cobra.Command {
	var d daemonFlags
	var listen string
	var open bool
	var to opening
	c := &cobra.Command{
		Use:   "serve",
		Short: "Record load cells and show the pages",
		Long: `Records every cell that is plugged in, finds and judges the pulls, and shows the pages to this machine's browser.

Set a cell up once with "tautlog cells --listen PORT --save NAME"; after that serve finds it by its name.
Without --cell, every cell that was set up is recorded at the port it was set up with.

Where an archive is told (see: tautlog archive --help), what is recorded is pushed there as well.

The pages are for this machine only, unless --listen names an address of the local network: 0.0.0.0:8480 for all of them. From
this machine no sign-in is needed, from any other one is: see "tautlog people". What goes over the network can be read there,
unless --tls-cert and --tls-key are given. Never open the pages to the internet.`,
		Example: "  tautlog serve\n  tautlog serve --data ~/testday --cell River-1=/dev/ttyUSB0\n  tautlog serve --listen 0.0.0.0:8480",
		Args:    noArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			ctx, remarks := c.Context(), c.ErrOrStderr()
			if err := to.check(); err != nil {
				return err
			}
			pages, err := listenPages(listen, open && !c.Flags().Changed("listen"), &to)
			if err != nil {
				return err
			}
			defer pages.Close()
			err = d.run(ctx, remarks, func(s *station) {
				s.pages, s.opened = pages, to
				address := to.here(pages.Addr())
				fmt.Fprintf(c.OutOrStdout(), "Pages: %s\n%sStop with Ctrl-C; everything received is then on disk.\n", address, to.says())
				if open {
					go openPages(address, remarks)
				}
			})
			if open && running(ctx, err) {
				fmt.Fprintf(c.OutOrStdout(), "It is recording already: http://%s/\n", defaultListen)
				openPages("http://"+defaultListen+"/", remarks)
				return nil
			}
			return err
		},
	}
	d.add(c)
	c.Flags().StringVar(&listen, "listen", defaultListen, "address and port of the pages; one of the local network, or 0.0.0.0 for all, opens them to phones")
	to.flags(c)
	c.Flags().BoolVar(&open, "open", false, "open the pages in the browser")
	return c
}

// newRecord is the daemon without pages.
func newRecord() *cobra.Command {
	var d daemonFlags
	c := &cobra.Command{
		Use:     "record",
		Short:   "Record load cells without pages, on a small computer",
		Long:    `Records like "serve" but shows no pages. Read what it kept with "tautlog pulls --data DIR" or "tautlog export".`,
		Example: "  tautlog record --data /var/lib/tautlog --cell River-1=/dev/ttyUSB0",
		Args:    noArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			return d.run(c.Context(), c.ErrOrStderr(), func(*station) {
				fmt.Fprintf(c.OutOrStdout(), "Recording into %s. Stop with Ctrl-C; everything received is then on disk.\n", d.data)
			})
		},
	}
	d.add(c)
	return c
}

// daemonFlags are those of serve and record.
type daemonFlags struct {
	data    string
	cells   []string
	archive archiveFlags
}

func (d *daemonFlags) add(c *cobra.Command) {
	c.Flags().StringVar(&d.data, "data", defaultData(), "directory of the store; made when missing")
	c.Flags().StringArrayVar(&d.cells, "cell", nil, "NAME=PORT, a cell that was set up and where it is plugged in; may be repeated")
	d.archive.add(c.Flags())
	d.archive.addStation(c.Flags())
}

// defaultData is a directory that a person finds again: tautlog in their home.
func defaultData() string {
	home, err := os.UserHomeDir()
	if err != nil {
		return "tautlog-data"
	}
	return filepath.Join(home, "tautlog")
}

// run opens the store, chooses the cells and runs a station until ctx ends.
// Ready is called when all of that has worked.
func (d *daemonFlags) run(ctx context.Context, stderr io.Writer, ready func(*station)) (err error) {
	asked, err := parseCellPorts(d.cells)
	if err != nil {
		return err
	}
	st, err := store.Open(d.data, store.Options{})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	chosen, err := chooseCells(ctx, st, asked)
	if err != nil {
		return err
	}
	demo, err := isMadeUp(ctx, st, d.data)
	if err != nil {
		return err
	}
	s := &station{store: st, cells: chosen, log: slog.New(slog.NewTextHandler(stderr, nil)), demo: demo}
	s.asTold = fileStamp(filepath.Join(d.data, archive.SettingsName)) // before it is read, so that no change is missed
	told, wrong := d.archive.told(d.data, stderr)
	s.asTold += fileStamp(told.TokenFile)
	s.archive = archive.NewCarrier(ctx, st, s.log, told, wrong)
	s.told = func() (archive.Told, error) { return d.archive.told(d.data, stderr) }
	ready(s)
	return s.run(ctx)
}

// chooseCells gives the cells to record: those asked for, at the ports given,
// or else every cell that was set up with a port.
func chooseCells(ctx context.Context, st *store.Store, asked []cellPort) ([]store.Cell, error) {
	if len(asked) == 0 {
		return cellsWithPort(ctx, st)
	}
	var out []store.Cell
	for _, a := range asked {
		c, err := st.CellByName(ctx, a.name)
		if errors.Is(err, store.ErrNotFound) {
			return nil, fmt.Errorf("cell %s is not set up in this store: plug it in and run: tautlog cells --listen %s --save %s", a.name, a.path, a.name)
		}
		if err != nil {
			return nil, err
		}
		if c.Line.Path != a.path {
			c.Line.Path = a.path
			if c, err = st.SaveCell(ctx, c); err != nil {
				return nil, err
			}
		}
		out = append(out, c)
	}
	return out, nil
}

func cellsWithPort(ctx context.Context, st *store.Store) ([]store.Cell, error) {
	all, err := st.Cells(ctx)
	if err != nil {
		return nil, err
	}
	var out []store.Cell
	for _, c := range all {
		if c.Line.Path != "" {
			out = append(out, c)
		}
	}
	return out, nil
}
