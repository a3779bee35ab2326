package derive

import (
	"context"
	"errors"
	"slices"

	"tautlog/analysis/pull"
	"tautlog/analysis/trace"
	"tautlog/calc/words"
	"tautlog/ingest/store"
)

const (
	// before and behind are what a Finder is shown around a pull that it is to
	// find again: enough quiet line before it, and more than may part two
	// moments of one pull behind it.
	before = int64(60e9)
	behind = int64(35e9)
)

// Stale gives the numbers of the pulls of a cell whose force was derived
// otherwise than it would be now, the earliest first: by another calibration, or
// another zero.
func Stale(ctx context.Context, db *store.Store, c Cell) ([]int64, error) {
	var inForce []store.Measure
	for f := range c.History.All() {
		inForce = append(inForce, store.Measure{From: f.From, Until: f.Until, By: c.By(f.From)})
	}
	return db.MeasuredOtherwise(ctx, c.ID, inForce)
}

// StalePulls gives those pulls themselves.
func StalePulls(ctx context.Context, db *store.Store, c Cell) ([]store.Pull, error) {
	numbers, err := Stale(ctx, db, c)
	out := make([]store.Pull, 0, len(numbers))
	for _, n := range numbers {
		p, e := db.Pull(ctx, n)
		if err = errors.Join(err, e); err != nil {
			return nil, err
		}
		out = append(out, p)
	}
	return out, err
}

// Settled gives the pulls of a cell that are over, the earliest first.
func Settled(ctx context.Context, db *store.Store, c Cell) ([]store.Pull, error) {
	all, err := db.Pulls(ctx, store.PullFilter{Cell: c.ID})
	slices.Reverse(all)
	return slices.DeleteFunc(all, func(p store.Pull) bool { return !p.Settled }), err
}

// Redone is what became of a pull that was measured again. The pull as it was
// stands in the journal.
type Redone struct {
	Was, Is store.Pull
	Problem string // why it stays as it was; empty where it was measured again
}

// Again measures pulls of a cell again from their readings, by what is in
// force for them now, and saves them: what people have entered of a pull stays.
// The pulls must be of that cell, the earliest first.
func Again(ctx context.Context, db *store.Store, c Cell, pulls []store.Pull) ([]Redone, error) {
	out := make([]Redone, 0, len(pulls))
	for len(pulls) > 0 {
		n := together(pulls)
		from, to := around(pulls[:n])
		found, err := c.find(ctx, db, from-before, to+behind)
		if err != nil {
			return out, err
		}
		for _, p := range pulls[:n] {
			r, err := c.redo(ctx, db, p, found)
			if err != nil {
				return out, err
			}
			out = append(out, r)
		}
		pulls = pulls[n:]
	}
	return out, nil
}

// together is how many of the first pulls lie so near to each other that they
// are looked for in one go.
func together(pulls []store.Pull) int {
	n := 1
	for ; n < len(pulls); n++ {
		from, _ := pulls[n].Span()
		if _, to := around(pulls[:n]); from-before > to+behind {
			break
		}
	}
	return n
}

// around is the stretch of time that pulls take up together.
func around(pulls []store.Pull) (from, to int64) {
	from, to = pulls[0].Span()
	for _, p := range pulls[1:] {
		a, b := p.Span()
		from, to = min(from, a), max(to, b)
	}
	return from, to
}

// find gives the pulls in a stretch of time. A damaged block is a gap.
func (c Cell) find(ctx context.Context, db *store.Store, from, to int64) (found []pull.Pull, err error) {
	finder := pull.NewFinder(c.Config())
	var b trace.Batch
	for run, err := range db.IntactRuns(ctx, c.ID, from, to, nil) {
		if err != nil {
			return nil, err
		}
		b = c.Batch(b, run)
		found = append(found, finder.Push(b)...)
	}
	return append(found, finder.Close()...), nil
}

// redo saves what was found of a pull, and of one with limits what was measured
// within them.
func (c Cell) redo(ctx context.Context, db *store.Store, p store.Pull, all []pull.Pull) (Redone, error) {
	r := Redone{Was: p, Is: p}
	found, by := p.ByFinder()
	i := slices.IndexFunc(all, func(f pull.Pull) bool { return f.Start <= found.PeakAt && found.PeakAt <= f.End })
	switch {
	case i >= 0:
		found, by = all[i], c.By(all[i].PeakAt)
	case p.Limits == nil:
		r.Problem = words.Say("derived.again.gone")
		return r, nil
	}
	next := store.Pull{
		ID: p.ID, Cell: c.ID, Day: p.Day, Rig: p.Rig, Ground: p.Ground, Notes: p.Notes, Found: found, By: by, Settled: true,
		Speed: p.Speed, Slack: p.Slack, Depth: p.Depth, Attempt: p.Attempt, PullerMass: p.PullerMass, StuckMass: p.StuckMass, StuckWithin: p.StuckWithin,
	}
	if l := p.Limits; l != nil {
		within, err := c.Within(ctx, db, l.From, l.To)
		if noStretch(err) {
			r.Problem = words.Say("derived.again.inforce", err)
			return r, nil
		}
		if err != nil {
			return r, err
		}
		next.Limits = &store.Limits{From: l.From, To: l.To, Found: found, By: by}
		next.Found, next.By = within, c.By(within.PeakAt)
	}
	is, err := db.SavePull(ctx, next)
	r.Is = is
	return r, err
}
