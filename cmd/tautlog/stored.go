package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"tautlog/analysis/pull"
	"tautlog/analysis/survey"
	"tautlog/analysis/trace"
	"tautlog/calc/unit"
	"tautlog/ingest/derive"
	"tautlog/ingest/store"
)

// storedFlags choose readings from a store.
type storedFlags struct {
	dir      string
	cell     string
	from, to timeFlag
}

// add defines the flags on a command.
func (s *storedFlags) add(c *cobra.Command) {
	f := c.Flags()
	f.StringVar(&s.dir, "data", "", "`directory` of the store")
	f.StringVar(&s.cell, "cell", "", "`name` of the cell; may be left out where the store has one only")
	f.Var(&s.from, "from", "first `time`: RFC 3339, or a local 2026-05-17 or 2026-05-17T09:30; otherwise the first reading")
	f.Var(&s.to, "to", "`time` at which to end, itself left out; otherwise behind the last reading")
}

func (s *storedFlags) used() bool { return s.cell != "" || s.from.set || s.to.set }

// openEditor opens a store for a change. A daemon may go on recording into it
// meanwhile; only where the store has yet to be made, or brought to the present
// format, must there be none.
func openEditor(c *cobra.Command, dir string) (*store.Store, error) {
	o := store.Options{Who: c.CommandPath()}
	db, err := store.OpenEditor(dir, o)
	if errors.Is(err, store.ErrNoStore) || errors.Is(err, store.ErrOlder) {
		return store.Open(dir, o)
	}
	return db, err
}

// window is the chosen stretch of time.
func (s *storedFlags) window() (from, to int64) {
	from, to = math.MinInt64, math.MaxInt64
	if s.from.set {
		from = s.from.at.UnixNano()
	}
	if s.to.set {
		to = s.to.at.UnixNano()
	}
	return from, to
}

// open opens what is stored as a source: its pulls are found again from the
// readings, but for those whose start and end a person has set. Close closes
// the store.
func (s *storedFlags) open(ctx context.Context, t traceFlags, remarks io.Writer) (*source, error) {
	db, err := store.OpenReader(s.dir)
	if err != nil {
		return nil, err
	}
	opened, err := s.source(ctx, db, t, remarks)
	if err != nil {
		db.Close()
		return nil, err
	}
	opened.close = db.Close
	return opened, nil
}

// source is what is chosen of a store that is open and stays so.
func (s *storedFlags) source(ctx context.Context, db *store.Store, t traceFlags, remarks io.Writer) (*source, error) {
	cell, err := s.chosen(ctx, db)
	if err != nil {
		return nil, err
	}
	each := s.samples(ctx, db, cell, remarks)
	return &source{survey.Source{
		Config:  finderConfig(cell, t),
		Largest: each.Largest,
		Each:    each,
		Nothing: func() error { return s.nothing(ctx, db, cell.Cell) },
		AsSet: func(cfg pull.Config, found []pull.Pull) ([]pull.Pull, error) {
			from, to := s.window()
			pulls, told, err := cell.AsSet(ctx, db, cfg, found, from, to)
			for _, remark := range told {
				fmt.Fprintln(remarks, remark)
			}
			return pulls, err
		},
	}, func() error { return nil }}, nil
}

// chosen is the cell that was named, or the only one there is, with how its
// readings become force.
func (s *storedFlags) chosen(ctx context.Context, db *store.Store) (derive.Cell, error) {
	c, err := s.named(ctx, db)
	if err != nil {
		return derive.Cell{}, err
	}
	return derive.Of(ctx, db, c)
}

func (s *storedFlags) named(ctx context.Context, db *store.Store) (store.Cell, error) {
	cells, err := db.Cells(ctx)
	if err != nil {
		return store.Cell{}, err
	}
	names := make([]string, len(cells))
	for i, c := range cells {
		if names[i] = c.Name; c.Name == s.cell || s.cell == "" && len(cells) == 1 {
			return c, nil
		}
	}
	switch {
	case len(cells) == 0:
		return store.Cell{}, fmt.Errorf("the store in %s has no cells; record with: tautlog record, or bring in a trace with: tautlog import", s.dir)
	case s.cell == "":
		return store.Cell{}, usagef("the store in %s has several cells: choose one with --cell, of %s", s.dir, strings.Join(names, ", "))
	}
	return store.Cell{}, fmt.Errorf("the store in %s has no cell %q; it has %s", s.dir, s.cell, strings.Join(names, ", "))
}

// samples gives what is stored of a cell, in newtons.
func (s *storedFlags) samples(ctx context.Context, db *store.Store, cell derive.Cell, remarks io.Writer) survey.Samples {
	told := map[int64]bool{}
	return survey.Ahead(func(yield func(survey.Fill) error) error {
		return s.runs(ctx, db, cell.ID, remarks, told, func(run store.Run) error { return yield(derived(cell, run)) })
	})
}

// derived fills a batch with a run of readings, in newtons.
func derived(cell derive.Cell, run store.Run) survey.Fill {
	return func(room trace.Batch) trace.Batch {
		b := cell.Batch(room, run)
		if b.Marks != nil { // those of the run are taken up again
			b.Marks = append(room.Marks[:0], b.Marks...)
		}
		return b
	}
}

// runs gives what is stored of a cell. A damaged block is remarked upon, unless
// it was told before, and left out: a gap. A run is valid until yield returns.
func (s *storedFlags) runs(ctx context.Context, db *store.Store, cell int64, remarks io.Writer, told map[int64]bool, yield func(store.Run) error) error {
	from, to := s.window()
	damaged := func(d *store.DamageError) {
		if !told[d.Block] {
			told[d.Block] = true
			fmt.Fprintf(remarks, "left out, as a gap: %v\n", d)
		}
	}
	for run, err := range db.IntactRuns(ctx, cell, from, to, damaged) {
		if err != nil {
			return err
		}
		if err := yield(run); err != nil {
			return err
		}
	}
	return ctx.Err()
}

// nothing says that the window holds no readings, and where there are some.
func (s *storedFlags) nothing(ctx context.Context, db *store.Store, cell store.Cell) error {
	first, last, n, err := db.Span(ctx, cell.ID)
	switch {
	case err != nil:
		return err
	case n == 0:
		return fmt.Errorf("the store in %s has no readings of cell %s; record some with: tautlog record", s.dir, cell.Name)
	}
	return fmt.Errorf("the store in %s has no readings of cell %s in that time; it has some from %s to %s: change --from and --to", s.dir, cell.Name, clock(first), clock(last))
}

// finderConfig is what a cell and the flags tell a Finder.
func finderConfig(cell derive.Cell, t traceFlags) pull.Config {
	c := cell.Config()
	c.Floor = t.floor
	if t.capacity > 0 {
		c.Capacity = t.capacity
	}
	return c
}

// timeFlag is a flag whose value is a moment.
type timeFlag struct {
	at  time.Time
	set bool
}

// Set reads the value.
func (t *timeFlag) Set(s string) (err error) {
	t.at, err = unit.ParseMomentOrDay(s, time.Local)
	t.set = err == nil
	return err
}

// String prints the value.
func (t *timeFlag) String() string {
	if t == nil || !t.set {
		return ""
	}
	return t.at.Format(time.RFC3339Nano)
}

// Type names the kind of value in the help.
func (t *timeFlag) Type() string { return "time" }
