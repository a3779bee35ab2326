package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"tautlog/analysis/trace"
	"tautlog/ingest/archive"
	"tautlog/ingest/store"
)

// archivePull is what was asked of "tautlog archive pull".
type archivePull struct {
	stored   storedFlags
	archived archivedFlags
	as       string
	output   string
	json     bool
}

// newArchivePull is the command that gets back what an archive has.
func newArchivePull() *cobra.Command {
	var a archivePull
	c := &cobra.Command{
		Use:   "pull [--cell NAME] [--station NAME] [--from TIME] [--to TIME] (--data DIR [--as NAME] | -o FILE.csv)",
		Short: "Get a cell's readings and pulls back from the archive",
		Long: `Takes the readings of a cell, and its pulls, from the archive into a store: every
time to the nanosecond, every count, what the cell said, its calibration, what
people said of each pull. Readings that the store has already are left as they are,
so that it may be repeated. The daemon of that store must not be running.

The store goes on pushing such a cell as that of the station that it came from. A
cell of the store's own by the same name is never mixed with it: take it in under
another name with --as.

With -o the readings are written as CSV instead, as tautlog export does.`,
		Example: "  tautlog archive pull --cell River-1 --data ~/elsewhere --archive ~/tautlog/archive.json\n  tautlog archive pull --cell River-1 --from 2026-05-17 -o day.csv",
		Args:    noArgs,
		RunE:    a.run,
	}
	a.stored.add(c)
	a.archived.add(c.Flags())
	f := c.Flags()
	f.StringVar(&a.as, "as", "", "`name` of the cell in the store; otherwise as it is called in the archive")
	f.StringVarP(&a.output, "output", "o", "", "`file` of CSV to write in place of a store, complete or not at all; - is standard output")
	f.BoolVar(&a.json, "json", false, "print one JSON document")
	return c
}

func (a *archivePull) run(c *cobra.Command, _ []string) error {
	switch {
	case a.output == "" && a.stored.dir == "":
		return usagef("%s wants a store or a file: add --data DIR or -o FILE.csv", c.CommandPath())
	case a.output != "" && (a.as != "" || a.json):
		return usagef("--as and --json go with --data, not with a file")
	}
	server, err := a.archived.archive.connect(a.stored.dir, c.ErrOrStderr())
	if err != nil {
		return err
	}
	defer server.Close()
	cell, err := a.archived.chosen(c.Context(), server, a.stored.cell)
	if err != nil {
		return err
	}
	if a.output == "" {
		return a.intoStore(c, server, cell)
	}
	write := func(w io.Writer) error { return a.asCSV(c.Context(), server, cell, w, c.ErrOrStderr()) }
	if a.output == "-" {
		return write(c.OutOrStdout())
	}
	return writeFile(a.output, write)
}

func (a *archivePull) asCSV(ctx context.Context, server *archive.Server, cell archive.Cell, w, remarks io.Writer) error {
	from, to := a.stored.window()
	each := func(yield func(trace.Batch, []int64) error) error { return server.Readings(ctx, cell, from, to, yield) }
	out := exportCommand{cell: true}
	return out.write(w, cell.Known, each, func() error { return a.archived.nothing(server, cell) }, remarks)
}

func (a *archivePull) intoStore(c *cobra.Command, server *archive.Server, cell archive.Cell) (err error) {
	db, err := store.Open(a.stored.dir, store.Options{Who: c.CommandPath()})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	from, to := a.stored.window()
	name := cmp.Or(a.as, cell.Known.Name)
	got, err := server.Fetch(c.Context(), cell, db, name, from, to)
	if errors.Is(err, archive.ErrOwn) {
		err = fmt.Errorf("%w; take this one in under another name, with --as NAME", err)
	}
	switch {
	case err != nil:
		return err
	case a.json:
		return writeJSON(c.OutOrStdout(), got)
	}
	_, err = fmt.Fprintf(c.OutOrStdout(), "%s and %s of cell %s of station %s taken in as cell %s; %s were there already.\n",
		counted(got.Readings, "reading"), counted(got.Pulls, "pull"), cell.Name, cell.Station, name, counted(got.Had, "reading"))
	return err
}
