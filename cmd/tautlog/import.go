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

	"tautlog/ingest/intake"
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
		Example: `  tautlog import TRACE.csv --data DIR --cell River-1 --start 2026-05-17T09:30:00Z
  tautlog import --gear gear.csv --data DIR --dry-run`,
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
		return m.worded(err)
	}
	defer func() { err = errors.Join(err, t.Close()) }()
	db, err := store.Open(m.dir, store.Options{Who: "import"})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	in, err := t.Keep(c.Context(), db)
	if err != nil {
		return m.worded(err)
	}
	_, err = fmt.Fprintf(c.OutOrStdout(), "%s of cell %s from %s to %s, with %s\n", counted(in.Readings, "reading"), in.Cell.Name,
		clock(in.First), clock(in.Last), counted(in.Pulls, "pull"))
	return err
}

// open opens the trace at path; "-" is standard input.
func (m *importCommand) open(ctx context.Context, path string, stdin io.Reader) (*intake.Trace, error) {
	ask := intake.Ask{Columns: m.trace.columns, Cell: m.cell, Capacity: m.trace.capacity, Floor: m.trace.floor}
	if m.start.set {
		ask.Start = &m.start.at
	}
	if path == "-" {
		return intake.OpenStream(ctx, stdin, "standard input", "", ask)
	}
	if err := wantFile(path); err != nil {
		return nil, err
	}
	return intake.Open(ctx, path, ask)
}

// worded says which flag is wrong.
func (m *importCommand) worded(err error) error {
	switch {
	case errors.Is(err, intake.ErrDates):
		return usagef("the times of the trace are dates: leave out --start")
	case errors.Is(err, intake.ErrNoStart):
		return usagef("the times of the trace are seconds: say with --start when they were 0, as in --start 2026-05-17T09:30:00Z")
	case errors.Is(err, intake.ErrCapacity):
		return usagef("%w: leave out --capacity", err)
	}
	return err
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
