package main

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"strings"

	"tautlog/analysis/trace"
	"tautlog/calc/calibrate"
	"tautlog/calc/unit"
	"tautlog/ingest/derive"
	"tautlog/ingest/port"
	"tautlog/ingest/store"
	"tautlog/ingest/tracefile"
)

// incoming is a trace that is to be imported, with what was learnt of it in
// passes of their own. It is read again for its readings: they are never in
// memory together.
type incoming struct {
	file     *tracefile.File
	kept     *os.File // standard input; nil: there is a file
	name     string
	start    timeFlag
	origin   int64 // time at which its times are 0
	readings int
	first    int64
	last     int64
	decimals *tracefile.Decimals // that its forces need; nil before the first
	perCount unit.Force          // the force of one count, by a column raw; 0 unknown
	fitted   bool                // the cell's counts were made as fine as the forces need, or as they may be
}

// open opens a trace and looks through it, so that whatever is wrong with it is
// told before a store is opened.
func (m *importCommand) open(ctx context.Context, path string, stdin io.Reader) (_ *incoming, err error) {
	t := &incoming{name: path, start: m.start}
	defer func() {
		if err != nil {
			err = errors.Join(err, t.close())
		}
	}()
	if err := wantFile(path); err != nil {
		return nil, err
	}
	if m.start.set {
		t.origin = m.start.at.UnixNano()
	}
	if path == "-" {
		if t.kept, err = keepInput(stdin); err != nil {
			return nil, err
		}
	}
	at, raw, err := t.largestCount(ctx, path, m.trace.columns)
	if err != nil {
		return nil, err
	}
	if t.file, err = t.again(path, m.trace.columns); err != nil {
		return nil, err
	}
	return t, t.lookThrough(ctx, at, raw)
}

// again opens the trace from its beginning.
func (t *incoming) again(path string, columns tracefile.Options) (*tracefile.File, error) {
	if t.kept == nil {
		return tracefile.Open(path, nil, columns)
	}
	if _, err := t.kept.Seek(0, io.SeekStart); err != nil {
		return nil, err
	}
	return tracefile.Open(path, t.kept, columns)
}

func (t *incoming) close() (err error) {
	if t.file != nil {
		err = t.file.Close()
	}
	if t.kept != nil {
		err = errors.Join(err, t.kept.Close())
	}
	return err
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

// largestCount looks for a column raw, and for the reading with the largest
// count: which one it is, and the count; 0 where there is no such column.
func (t *incoming) largestCount(ctx context.Context, path string, columns tracefile.Options) (at int, count float64, err error) {
	columns.ForceColumn, columns.Unit = "raw", unit.Newton
	file, err := t.again(path, columns)
	if err != nil {
		return 0, 0, err
	}
	n := 0
	err = file.Each(ctx, func(b trace.Batch) error {
		for _, raw := range b.F {
			if math.Abs(raw) > math.Abs(count) {
				at, count = n, raw
			}
			n++
		}
		return nil
	})
	if _, isFault := errors.AsType[*tracefile.Error](err); isFault {
		count, err = 0, nil // no such column, or one of something else
	}
	return at, count, errors.Join(err, file.Close())
}

// lookThrough checks the whole trace and learns what a new cell would have to
// be like. Reading at has the count raw; 0: that is not known.
func (t *incoming) lookThrough(ctx context.Context, at int, raw float64) error {
	return t.file.Each(ctx, func(b trace.Batch) error {
		if err := t.checkTimes(b); err != nil {
			return err
		}
		if t.decimals == nil {
			t.decimals = tracefile.NewDecimals(t.file.Unit())
			t.first = t.origin + b.T[0]
		}
		t.decimals.Add(b.F)
		if i := at - t.readings; raw != 0 && i >= 0 && i < b.Len() {
			t.perCount = unit.Force(b.F[i] / raw)
		}
		t.readings += b.Len()
		t.last = t.origin + b.T[b.Len()-1]
		return nil
	})
}

func (t *incoming) checkTimes(b trace.Batch) error {
	switch {
	case t.file.Dates() && t.start.set:
		return usagef("the times of the trace are dates: leave out --start")
	case !t.file.Dates() && !t.start.set:
		return usagef("the times of the trace are seconds: say with --start when they were 0, as in --start 2026-05-17T09:30:00Z")
	}
	first, last := t.origin+b.T[0], t.origin+b.T[b.Len()-1]
	if first < 0 || last < first {
		return fmt.Errorf("readings from %s to %s are out of the time that the store keeps; correct --start", clock(first), clock(last))
	}
	return nil
}

// cell is a new cell that suits the trace: the one of the comment above it,
// else one whose counts are those of its column raw, else one whose counts
// are as fine as its decimals.
func (t *incoming) cell() (store.Cell, error) {
	for _, c := range t.file.Comments() {
		if text, ok := strings.CutPrefix(c, cellComment); ok {
			var cell store.Cell
			if err := json.Unmarshal([]byte(text), &cell); err != nil {
				return cell, fmt.Errorf("the cell in the comment of %s cannot be read: %w; remove the comment", t.name, err)
			}
			cell.Line = port.Line{} // that of another computer
			return cell, cell.Curve.Validate()
		}
	}
	if curve, ok := t.curveOfCounts(); ok {
		return store.Cell{Curve: curve}, nil
	}
	t.fitted = true
	return store.Cell{Curve: calibrate.Line(t.file.Unit(), t.decimals.Number())}, nil
}

// curveOfCounts is the curve of an indicator that shows some decimals of some
// unit, if the column raw is of such a one.
func (t *incoming) curveOfCounts() (calibrate.Curve, bool) {
	for _, u := range []unit.ForceUnit{unit.Newton, unit.KilogramF, unit.PoundF} {
		for decimals := -6; decimals <= 12; decimals++ {
			curve := calibrate.Line(u, decimals)
			if one := float64(curve.Slope(0)); math.Abs(one-float64(t.perCount)) <= 1e-13*one {
				return curve, true
			}
		}
	}
	return calibrate.Curve{}, false
}

// errChanged says that a trace is not what it was when it was looked through.
var errChanged = errors.New("the trace changed while it was read; try again when nothing writes to it")

// samples gives the readings in newtons, as they will be when they are read
// from the store. The first time that they are asked for, they go to keep first.
func (t *incoming) samples(ctx context.Context, cell derive.Cell, keep func([]store.Run) error) samples {
	return ahead(func(yield func(fill) error) error {
		p := portion{t: t, cell: cell, give: func(runs []store.Run) error {
			if keep != nil {
				if err := keep(runs); err != nil {
					return err
				}
			}
			return yield(together(cell, runs))
		}}
		var ours error // which says itself where it was
		err := t.file.Each(ctx, func(b trace.Batch) error {
			ours = p.add(b)
			return ours
		})
		if err == nil {
			err = p.close()
		}
		if err == nil && (p.n != t.readings || p.last != t.last) {
			err = errChanged
		}
		keep = nil
		return cmp.Or(ours, err)
	})
}

// together fills a batch with runs of readings, in newtons.
func together(cell derive.Cell, runs []store.Run) fill {
	return func(room trace.Batch) trace.Batch {
		b := trace.Batch{T: room.T[:0], F: room.F[:0]}
		for _, run := range runs {
			n := len(b.T)
			b.T = run.Times(b.T)
			b.F = cell.Forces(b.F, b.T[n:], run.Raw)
			if run.Marks != nil { // of all runs, or of none
				b.Marks = append(b.Marks, run.Marks...)
			}
		}
		return b
	}
}

// portionReadings is how many readings are stored at a time: as many as the
// store keeps together.
const portionReadings = 1 << 15

// portion makes runs of readings, a portion at a time, and gives them away. They
// are valid until give returns.
type portion struct {
	t    *incoming
	cell derive.Cell
	give func([]store.Run) error

	curve   calibrate.Curve
	until   int64 // time up to which it is in force
	gridder tracefile.Gridder
	raw     []int64
	marks   []trace.Mark
	marked  bool
	runs    []store.Run
	whole   int   // readings in runs
	n       int   // readings so far
	last    int64 // time of the last one
}

func (p *portion) add(b trace.Batch) error {
	for i, at := range b.T {
		at += p.t.origin
		raw, err := p.count(at, b.F[i])
		if err != nil {
			return err
		}
		if done, ok := p.gridder.Add(at); ok {
			p.run(done)
		}
		var mark trace.Mark
		if b.Marks != nil {
			mark = b.Marks[i]
		}
		p.raw, p.marks, p.marked = append(p.raw, raw), append(p.marks, mark), p.marked || mark != 0
		p.last = at
		if len(p.raw) == portionReadings {
			if err := p.close(); err != nil {
				return err
			}
		}
	}
	return nil
}

// count is the raw reading behind a force. That it lies between two counts
// means that the trace is not of this cell, or finer than it.
func (p *portion) count(at int64, f float64) (int64, error) {
	if p.n == 0 || at >= p.until {
		now := p.cell.History.At(at)
		p.curve, p.until = now.Curve, now.Until
	}
	p.n++
	x, ok := p.curve.Reading(unit.Force(f))
	whole := math.Round(x)
	if !ok || !p.t.fitted && math.Abs(x-whole) > 0.01 || math.Abs(whole) > 1<<53 {
		return 0, fmt.Errorf("reading %d of %s, %s N, lies between two counts of cell %s by its curve: is it another cell's? Import it under a new name",
			p.n, p.t.name, strings.TrimSpace(fmt.Sprintf("%.6g", f)), p.cell.Name)
	}
	return int64(whole), nil
}

// run notes that the readings behind the last run are one.
func (p *portion) run(g tracefile.Grid) {
	end := p.whole + g.N
	p.runs = append(p.runs, store.Run{Cell: p.cell.ID, Start: g.Start, Step: g.Step, Raw: p.raw[p.whole:end:end]})
	p.whole = end
}

// close gives away what there is.
func (p *portion) close() error {
	if done, ok := p.gridder.Close(); ok {
		p.run(done)
	}
	if len(p.runs) == 0 {
		return nil
	}
	if p.marked {
		marks := p.marks
		for i := range p.runs {
			n := len(p.runs[i].Raw)
			p.runs[i].Marks, marks = marks[:n:n], marks[n:]
		}
	}
	err := p.give(p.runs)
	p.raw, p.marks, p.runs, p.marked, p.whole = p.raw[:0], p.marks[:0], p.runs[:0], false, 0
	return err
}
