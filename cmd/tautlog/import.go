package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"tautlog/analysis/pull"
	"tautlog/calc/unit"
	"tautlog/ingest/derive"
	"tautlog/ingest/store"
)

// importCommand is what was asked of "tautlog import".
type importCommand struct {
	trace traceFlags
	dir   string
	cell  string
	start timeFlag

	register registerImport
}

// newImport is the command that puts a CSV trace into the store.
func newImport() *cobra.Command {
	var m importCommand
	c := &cobra.Command{
		Use:   "import TRACE.csv --data DIR --cell NAME | import --gear|--vehicles|--rigs FILE --data DIR",
		Short: "Put a CSV trace, or a register of gear, into the store",
		Long: registerImportHelp + `

Puts a trace into the store as readings of a cell, and the pulls found in it
into the log. All of it goes in or nothing; readings that overlap in time with
stored ones are refused. The daemon of that store must not be running.

A cell that the store does not know is made as a comment line of tautlog export
--with-cell says, else from the columns force and raw where raw is a number of
decimals of a unit. Otherwise its counts are the smallest decimal of the force
column that any reading needs, at most nine decimals. For a cell that the store
knows, the forces must be those of whole counts by its curve.

Times in RFC 3339 are kept to the nanosecond. Times in seconds need --start.
The trace is read two or three times; standard input is kept in a temporary
file meanwhile. A pipe with a name is refused.`,
		Args: m.args,
		RunE: m.run,
	}
	m.trace.add(c)
	m.register.add(c)
	f := c.Flags()
	f.StringVar(&m.dir, "data", "", "`directory` of the store; made if it is not there")
	f.StringVar(&m.cell, "cell", "", "`name` of the cell")
	f.Var(&m.start, "start", "`time` at which the seconds of the trace are 0, as 2026-05-17T09:30:00Z")
	return c
}

func (m *importCommand) args(c *cobra.Command, args []string) error {
	if m.register.asked() {
		return noArgs(c, args)
	}
	return oneTrace(c, args)
}

func (m *importCommand) run(c *cobra.Command, args []string) (err error) {
	if m.register.asked() {
		return m.register.run(c, m.dir)
	}
	if m.dir == "" || strings.TrimSpace(m.cell) == "" {
		return usagef("%s wants a store and a cell: add --data DIR --cell NAME", c.CommandPath())
	}
	t, err := m.open(c.Context(), args[0], c.InOrStdin())
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, t.close()) }()
	db, err := store.Open(m.dir, store.Options{Who: "import"})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	return m.keep(c.Context(), db, t, c.OutOrStdout())
}

// keep stores readings and pulls, all of it or nothing. The first pass over the
// readings stores them; where the capacity is unknown, others follow.
func (m *importCommand) keep(ctx context.Context, db *store.Store, t *incoming, out io.Writer) error {
	cell, known, err := m.cellFor(ctx, db, t)
	if err != nil {
		return err
	}
	var found *analysed
	err = db.BringIn(ctx, func(in *store.Intake) error {
		if !known {
			if cell.Cell, err = in.SaveCell(ctx, cell.Cell); err != nil {
				return err
			}
		}
		each := t.samples(ctx, cell, func(runs []store.Run) error { return in.Append(ctx, runs) })
		s := &source{config: finderConfig(cell, m.trace), largest: func() (unit.Force, error) { return largest(each) }, each: each}
		if found, err = s.analyse(); err != nil {
			return err
		}
		return in.SavePulls(ctx, logged(cell, found.Pulls))
	})
	if err != nil {
		return fmt.Errorf("nothing was imported: %w", err)
	}
	if _, err := db.Fold(ctx, cell.ID); err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "%s of cell %s from %s to %s, with %s\n", counted(t.readings, "reading"), cell.Name,
		clock(t.first), clock(t.last), counted(len(found.Pulls), "pull"))
	return err
}

func logged(cell derive.Cell, pulls []pull.Pull) []store.Pull {
	all := make([]store.Pull, len(pulls))
	for i, p := range pulls {
		all[i] = store.Pull{Cell: cell.ID, Found: p, By: cell.By(p.PeakAt), Kind: p.Kind, Settled: true}
	}
	return all
}

// cellFor is the cell as the store knows it, or a new one.
func (m *importCommand) cellFor(ctx context.Context, db *store.Store, t *incoming) (cell derive.Cell, known bool, err error) {
	there, err := db.CellByName(ctx, m.cell)
	switch {
	case err == nil && m.trace.capacity != 0 && m.trace.capacity != there.Capacity:
		return cell, true, usagef("cell %s has a capacity of %s: leave out --capacity", there.Name, there.Capacity)
	case err == nil:
		cell, err = derive.Of(ctx, db, there)
		return cell, true, errors.Join(err, there.Curve.Validate())
	case !errors.Is(err, store.ErrNotFound):
		return cell, false, err
	}
	made, err := t.cell()
	if err != nil {
		return cell, false, err
	}
	made.Name = m.cell
	if m.trace.capacity != 0 {
		made.Capacity = m.trace.capacity
	}
	return derive.New(made), false, nil
}

// wantFile refuses to import from what is neither a regular file nor standard
// input. A trace is read more than once, which a pipe cannot be, and opening a
// pipe waits until somebody writes to it, for ever if nobody does.
func wantFile(path string) error {
	if path == "-" {
		return nil
	}
	info, err := os.Stat(path)
	if err != nil || info.IsDir() || info.Mode().IsRegular() {
		return nil // said where it is opened
	}
	return fmt.Errorf("%s is no regular file and is not read: name a file, or - and send it to standard input, as in: tautlog import - < %s", path, path)
}

func clock(t int64) string { return time.Unix(0, t).UTC().Format(time.RFC3339Nano) }
