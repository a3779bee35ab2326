// Package derive turns what is stored of a cell into force, by the calibration
// and the zero that were in force when each reading was taken, and tells the
// analysis how sure that is. It is the one place that does, for the live line,
// commands, pages and reports. It changes no reading.
package derive

import (
	"context"
	"math"
	"slices"

	"tautlog/analysis/pull"
	"tautlog/analysis/trace"
	"tautlog/calc/calibrate"
	"tautlog/calc/unit"
	"tautlog/calc/words"
	"tautlog/ingest/store"
)

// Cell is a cell with how its readings become force.
type Cell struct {
	store.Cell
	History *calibrate.History
}

// Of gives a cell with its history as the store has it now.
func Of(ctx context.Context, db *store.Store, c store.Cell) (Cell, error) {
	h, err := db.History(ctx, c)
	return Cell{c, h}, err
}

// New is a cell of which only the curve that it was set up with is known.
func New(c store.Cell) Cell {
	h, err := calibrate.NewHistory(c.Curve, nil, nil)
	if err != nil {
		panic("derive: " + err.Error()) // only a kept calibration can be wrong
	}
	return Cell{c, h}
}

// Config is what a Finder is to know of the cell.
func (c Cell) Config() pull.Config {
	return pull.Config{
		Capacity: c.Capacity, Resolution: unit.Force(math.Abs(float64(c.History.At(math.MaxInt64).Curve.Slope(0)))),
		LagSeconds: c.LagSeconds, NominalRate: c.Rate, Calibration: c.known,
	}
}

// known tells the analysis how sure a force is that was read at a moment.
func (c Cell) known(at int64, read unit.Force) pull.Calibration {
	f := c.History.At(at)
	k := pull.Calibration{Until: f.Until}
	say := func(flag, remark string) {
		k.Flags, k.Remarks = append(k.Flags, flag), append(k.Remarks, remark)
	}
	half, ok := f.Half95(read)
	switch {
	case ok && f.Kept == nil:
		k.Note = words.Say("derived.calibration.stated")
	case ok:
		k.Note = f.Kept.Label()
	case f.Kept == nil:
		say(pull.FlagNoCalibration, words.Say("derived.calibration.none", c.Name))
	default:
		say(pull.FlagNoCalibration, words.Say("derived.calibration.silent", f.Kept.Label(), c.Name))
	}
	k.Half95 = half
	if largest, beyond := f.Beyond(read); beyond {
		say(pull.FlagBeyondCalibration, words.Say("derived.calibration.beyond", c.Name, largest.Show(unit.DefaultShown, 0)))
	}
	if f.Kept != nil && f.Kept.Certificate.Expired(at) {
		say(pull.FlagExpired, words.Say("derived.calibration.expired", c.Name, f.Kept.Certificate.Number, f.Kept.Certificate.Expires))
	}
	return k
}

// Batch gives a run of readings their times and forces. It takes over the
// memory of an earlier batch.
func (c Cell) Batch(b trace.Batch, run store.Run) trace.Batch {
	b.T, b.Marks = run.Times(b.T[:0]), run.Marks
	b.F = c.Forces(b.F[:0], b.T, run.Raw)
	return b
}

// Forces appends the forces of readings that were taken at the times t, ns UTC,
// the earliest first.
func (c Cell) Forces(f []float64, t, raw []int64) []float64 {
	for len(raw) > 0 {
		k, n := c.History.At(t[0]), len(raw)
		if t[n-1] >= k.Until {
			n, _ = slices.BinarySearch(t[:n], k.Until)
		}
		f = k.Curve.Forces(f, raw[:n])
		t, raw = t[n:], raw[n:]
	}
	return f
}

// By is what the force of a moment was derived by.
func (c Cell) By(at int64) store.Derived {
	f := c.History.At(at)
	by := store.Derived{Calibration: f.Number()}
	if f.Zero != nil {
		by.Zero = f.Zero.At
	}
	return by
}
