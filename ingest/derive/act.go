package derive

import (
	"context"
	"fmt"

	"tautlog/calc/calibrate"
	"tautlog/calc/unit"
	"tautlog/calc/words"
	"tautlog/ingest/store"
)

// ErrNotTaken says that a reading was not taken, and why.
var ErrNotTaken error = words.Kind("derived.nottaken")

func notTaken(why string) error {
	return fmt.Errorf("%w: %s", ErrNotTaken, why)
}

// SetZero has the steady level of a cell taken off from now on.
func (c Cell) SetZero(ctx context.Context, db *store.Store, s calibrate.Steadiness, kind calibrate.ZeroKind) (store.Zero, error) {
	if !s.Steady {
		return store.Zero{}, notTaken(s.Why)
	}
	return db.SaveZero(ctx, store.Zero{Cell: c.ID, Zero: calibrate.Zero{At: s.To, Kind: kind, Reading: s.Mean, SD: s.SD, Count: s.Count}})
}

// MakeCheck holds the steady level of a cell against its calibration and keeps
// that with the day; see calibrate.InForce.Check.
func (c Cell) MakeCheck(ctx context.Context, db *store.Store, s calibrate.Steadiness, known, known95 unit.Force) (store.Check, error) {
	if !s.Steady {
		return store.Check{}, notTaken(s.Why)
	}
	checks, err := db.Checks(ctx, c.ID)
	if err != nil {
		return store.Check{}, err
	}
	k := c.History.At(s.To).Check(s, known, known95, c.SlackReading(checks, s.To))
	return db.SaveCheck(ctx, store.Check{Cell: c.ID, Check: k})
}

// TakePoint puts the steady level under a known force behind the points of the
// draft of a cell. The force counts as decreasing where the one before it in
// the same run was larger. It refuses a reading that is the same as that of the
// point before, though the force is said to be another.
func (c Cell) TakePoint(ctx context.Context, db *store.Store, d store.Draft, s calibrate.Steadiness, known unit.Force, run string) (store.Draft, error) {
	if !s.Steady {
		return d, notTaken(s.Why)
	}
	p := store.Taken{Point: calibrate.Point{Reading: s.Mean, Force: known, Run: run}, At: s.To, SD: s.SD, Count: s.Count}
	if n := len(d.Points); n > 0 {
		last := d.Points[n-1]
		if last.Force != known && s.SameAs(last.Reading, last.SD) {
			return d, notTaken(words.Say("derived.nottaken.same", last.Force))
		}
		p.Down = last.Run == run && (last.Force > known || last.Force == known && last.Down)
	}
	d.Points = append(d.Points[:len(d.Points):len(d.Points)], p)
	return db.SaveDraft(ctx, d)
}

// UndoPoint takes the latest point off the draft of a cell. It stands in the
// journal.
func UndoPoint(ctx context.Context, db *store.Store, d store.Draft) (store.Draft, error) {
	if len(d.Points) == 0 {
		return d, notTaken(words.Say("derived.nottaken.none"))
	}
	d.Points = d.Points[: len(d.Points)-1 : len(d.Points)-1]
	return db.SaveDraft(ctx, d)
}
