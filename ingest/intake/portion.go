package intake

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"strings"

	"tautlog/analysis/survey"
	"tautlog/analysis/trace"
	"tautlog/calc/calibrate"
	"tautlog/calc/unit"
	"tautlog/ingest/derive"
	"tautlog/ingest/store"
	"tautlog/ingest/tracefile"
)

// errChanged says that a trace is not what it was when it was looked through.
var errChanged = errors.New("the trace changed while it was read; try again when nothing writes to it")

// samples gives the readings in newtons, as they will be when they are read
// from the store. The first time that they are asked for, they go to keep first.
func (t *Trace) samples(ctx context.Context, cell derive.Cell, keep func([]store.Run) error) survey.Samples {
	return survey.Ahead(func(yield func(survey.Fill) error) error {
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
		if err == nil && (p.n != t.Readings || p.last != t.Last) {
			err = errChanged
		}
		keep = nil
		return cmp.Or(ours, err)
	})
}

// together fills a batch with runs of readings, in newtons.
func together(cell derive.Cell, runs []store.Run) survey.Fill {
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
	t    *Trace
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
