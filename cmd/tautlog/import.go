package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"tautlog/analysis/pull"
	"tautlog/analysis/trace"
	"tautlog/calc/calibrate"
	"tautlog/calc/unit"
	"tautlog/ingest/derive"
	"tautlog/ingest/port"
	"tautlog/ingest/store"
	"tautlog/ingest/tracefile"
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
The whole trace is held in memory, about ten bytes a reading.`,
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
	read, err := m.read(c.Context(), args[0], c.InOrStdin())
	if err != nil {
		return err
	}
	db, err := store.Open(m.dir, store.Options{Who: "import"})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	return m.keep(c.Context(), db, read, c.OutOrStdout())
}

// imported is a whole trace in memory. The times are on grids.
type imported struct {
	name     string
	unit     unit.ForceUnit
	comments []string
	grids    []tracefile.Grid
	forces   []float64
	marks    []trace.Mark // nil: all ordinary
	perCount unit.Force   // the force of one count, by a column raw; 0 unknown
	fitted   bool         // the cell's counts were made as fine as the forces need, or as they may be
}

// read reads the trace twice: for its forces, and for a column raw.
func (m *importCommand) read(ctx context.Context, path string, stdin io.Reader) (_ *imported, err error) {
	var kept *os.File
	if path == "-" {
		if kept, err = keepInput(stdin); err != nil {
			return nil, err
		}
		defer func() { err = errors.Join(err, kept.Close()) }()
	}
	file, err := tracefile.Open(path, kept, m.trace.columns)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	read := &imported{name: path}
	if err := m.readSamples(ctx, file, read); err != nil {
		return nil, err
	}
	read.unit, read.comments = file.Unit(), file.Comments()
	if kept != nil {
		if _, err := kept.Seek(0, io.SeekStart); err != nil {
			return nil, err
		}
	}
	return read, m.readCounts(ctx, path, kept, read)
}

// keepInput copies standard input to a temporary file that has no name, so
// that it can be read twice.
func keepInput(stdin io.Reader) (*os.File, error) {
	f, err := os.CreateTemp("", "tautlog-import-*")
	if err != nil {
		return nil, fmt.Errorf("standard input cannot be kept: %w; give a file", err)
	}
	os.Remove(f.Name())
	_, err = io.Copy(f, stdin)
	if err == nil {
		_, err = f.Seek(0, io.SeekStart)
	}
	if err != nil {
		return nil, errors.Join(fmt.Errorf("standard input cannot be kept: %w; give a file", err), f.Close())
	}
	return f, nil
}

func (m *importCommand) readSamples(ctx context.Context, file *tracefile.File, read *imported) error {
	var origin int64
	if m.start.set {
		origin = m.start.at.UnixNano()
	}
	var gridder tracefile.Gridder
	err := file.Each(ctx, func(b trace.Batch) error {
		if err := m.checkTimes(file, b, origin); err != nil {
			return err
		}
		for _, t := range b.T {
			if done, ok := gridder.Add(origin + t); ok {
				read.grids = append(read.grids, done)
			}
		}
		read.add(b)
		return nil
	})
	if done, ok := gridder.Close(); ok {
		read.grids = append(read.grids, done)
	}
	return err
}

// readCounts looks for a column raw and learns from its largest reading what
// force one count is.
func (m *importCommand) readCounts(ctx context.Context, path string, stdin io.Reader, read *imported) error {
	columns := m.trace.columns
	columns.ForceColumn, columns.Unit = "raw", unit.Newton
	file, err := tracefile.Open(path, stdin, columns)
	if err != nil {
		return err
	}
	defer file.Close()
	largest, i := 0.0, 0
	err = file.Each(ctx, func(b trace.Batch) error {
		for _, raw := range b.F {
			if i < len(read.forces) && math.Abs(raw) > largest {
				largest, read.perCount = math.Abs(raw), unit.Force(read.forces[i]/raw)
			}
			i++
		}
		return nil
	})
	if _, isFault := errors.AsType[*tracefile.Error](err); isFault {
		read.perCount = 0
		return nil // no such column, or one of something else
	}
	return err
}

func (m *importCommand) checkTimes(file *tracefile.File, b trace.Batch, origin int64) error {
	switch {
	case file.Dates() && m.start.set:
		return usagef("the times of the trace are dates: leave out --start")
	case !file.Dates() && !m.start.set:
		return usagef("the times of the trace are seconds: say with --start when they were 0, as in --start 2026-05-17T09:30:00Z")
	}
	first, last := origin+b.T[0], origin+b.T[b.Len()-1]
	if first < 0 || last < first {
		return fmt.Errorf("readings from %s to %s are out of the time that the store keeps; correct --start", clock(first), clock(last))
	}
	return nil
}

func (r *imported) add(b trace.Batch) {
	if b.Marks != nil && r.marks == nil {
		r.marks = make([]trace.Mark, len(r.forces))
	}
	r.forces = append(r.forces, b.F...)
	switch {
	case b.Marks != nil:
		r.marks = append(r.marks, b.Marks...)
	case r.marks != nil:
		r.marks = append(r.marks, make([]trace.Mark, b.Len())...)
	}
}

// keep finds the pulls first, so that nothing is stored if that fails, and
// then stores readings and pulls.
func (m *importCommand) keep(ctx context.Context, db *store.Store, read *imported, out io.Writer) error {
	cell, known, err := m.cellFor(ctx, db, read)
	if err != nil {
		return err
	}
	runs := read.runs(make([]int64, len(read.forces)))
	if err := read.counts(cell, runs); err != nil {
		return err
	}
	pulls, err := pullsIn(ctx, cell, m.trace, runs)
	if err != nil {
		return err
	}
	if !known {
		if cell.Cell, err = db.SaveCell(ctx, cell.Cell); err != nil {
			return err
		}
	}
	if err := storeRuns(ctx, db, cell.Cell, runs); err != nil {
		return err
	}
	found := make([]store.Pull, len(pulls))
	for i, p := range pulls {
		found[i] = store.Pull{Cell: cell.ID, Found: p, By: cell.By(p.PeakAt), Kind: p.Kind, Settled: true}
	}
	if _, err := db.SavePulls(ctx, found); err != nil {
		return fmt.Errorf("the readings are stored, but their pulls are not in the log: %w", err)
	}
	_, err = fmt.Fprintf(out, "%s of cell %s from %s to %s, with %s\n", counted(len(read.forces), "reading"), cell.Name,
		clock(runs[0].Start), clock(runs[len(runs)-1].Last()), counted(len(pulls), "pull"))
	return err
}

func storeRuns(ctx context.Context, db *store.Store, cell store.Cell, runs []store.Run) error {
	for i := range runs {
		runs[i].Cell = cell.ID
	}
	if err := db.Append(ctx, runs); err != nil {
		return fmt.Errorf("nothing was imported: %w", err)
	}
	_, err := db.Fold(ctx, cell.ID)
	return err
}

// cellFor is the cell as the store knows it, or a new one.
func (m *importCommand) cellFor(ctx context.Context, db *store.Store, read *imported) (cell derive.Cell, known bool, err error) {
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
	made, err := read.cell()
	if err != nil {
		return cell, false, err
	}
	made.Name = m.cell
	if m.trace.capacity != 0 {
		made.Capacity = m.trace.capacity
	}
	return derive.New(made), false, nil
}

// cell is a new cell that suits the trace: the one of the comment above it,
// else one whose counts are those of its column raw, else one whose counts
// are as fine as its decimals.
func (r *imported) cell() (store.Cell, error) {
	for _, c := range r.comments {
		if text, ok := strings.CutPrefix(c, cellComment); ok {
			var cell store.Cell
			if err := json.Unmarshal([]byte(text), &cell); err != nil {
				return cell, fmt.Errorf("the cell in the comment of %s cannot be read: %w; remove the comment", r.name, err)
			}
			cell.Line = port.Line{} // that of another computer
			return cell, cell.Curve.Validate()
		}
	}
	if curve, ok := r.curveOfCounts(); ok {
		return store.Cell{Curve: curve}, nil
	}
	r.fitted = true
	return store.Cell{Curve: calibrate.Line(r.unit, tracefile.Decimals(r.forces, r.unit))}, nil
}

// curveOfCounts is the curve of an indicator that shows some decimals of some
// unit, if the column raw is of such a one.
func (r *imported) curveOfCounts() (calibrate.Curve, bool) {
	for _, u := range []unit.ForceUnit{unit.Newton, unit.KilogramF, unit.PoundF} {
		for decimals := -6; decimals <= 12; decimals++ {
			curve := calibrate.Line(u, decimals)
			if one := float64(curve.Slope(0)); math.Abs(one-float64(r.perCount)) <= 1e-13*one {
				return curve, true
			}
		}
	}
	return calibrate.Curve{}, false
}

// counts puts the raw reading behind each force into the runs. That a force
// lies between two counts means that the trace is not of this cell, or finer
// than it.
func (r *imported) counts(cell derive.Cell, runs []store.Run) error {
	n := 0
	for _, run := range runs {
		for i := range run.Raw {
			f := r.forces[n]
			n++
			x, ok := cell.History.At(run.At(i)).Curve.Reading(unit.Force(f))
			whole := math.Round(x)
			if !ok || !r.fitted && math.Abs(x-whole) > 0.01 || math.Abs(whole) > 1<<53 {
				return fmt.Errorf("reading %d of %s, %s N, lies between two counts of cell %s by its curve: is it another cell's? Import it under a new name",
					n, r.name, strings.TrimSpace(fmt.Sprintf("%.6g", f)), cell.Name)
			}
			run.Raw[i] = int64(whole)
		}
	}
	return nil
}

func (r *imported) runs(raw []int64) []store.Run {
	runs := make([]store.Run, 0, len(r.grids))
	marks := r.marks
	for _, g := range r.grids {
		run := store.Run{Start: g.Start, Step: g.Step, Raw: raw[:g.N:g.N]}
		if raw = raw[g.N:]; marks != nil {
			run.Marks, marks = marks[:g.N:g.N], marks[g.N:]
		}
		runs = append(runs, run)
	}
	return runs
}

// pullsIn finds the pulls of what is to be imported.
func pullsIn(ctx context.Context, cell derive.Cell, t traceFlags, runs []store.Run) ([]pull.Pull, error) {
	each := func(yield func(trace.Batch) error) error {
		var b trace.Batch
		for _, r := range runs {
			b = cell.Batch(b, r)
			if err := yield(b); err != nil {
				return err
			}
		}
		return ctx.Err()
	}
	config := finderConfig(cell, t)
	if config.Capacity == 0 {
		var err error
		if config.FullScale, err = largest(each); err != nil {
			return nil, err
		}
	}
	found, err := find(config, each)
	if err != nil {
		return nil, err
	}
	return found.Pulls, nil
}

func clock(t int64) string { return time.Unix(0, t).UTC().Format(time.RFC3339Nano) }
