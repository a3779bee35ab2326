package derive

import (
	"cmp"
	"context"
	"errors"
	"slices"
	"time"

	"tautlog/analysis/pull"
	"tautlog/analysis/trace"
	"tautlog/calc/words"
	"tautlog/ingest/store"
)

const (
	// behindSet is what a Stretch is shown behind its end.
	behindSet = int64(5e9)
	// longest is how long a pull with limits may be.
	longest = int64(6 * time.Hour)
	// mostSet is how many readings a pull with limits may hold: what one core
	// measures while somebody waits, an hour of a cell read 10,000 times a second.
	mostSet = 36_000_000
	// nearSet is how far from a limit the nearest reading may be, with three
	// readings' time on top: further away nothing was recorded there.
	nearSet = int64(time.Second)
)

// Within measures a stretch of a cell from its readings, both limits included,
// in ns UTC; see pull.Stretch for its errors. A damaged block is a gap.
func (c Cell) Within(ctx context.Context, db *store.Store, from, to int64) (pull.Pull, error) {
	return c.within(ctx, db, c.Config(), from, to)
}

func (c Cell) within(ctx context.Context, db *store.Store, cfg pull.Config, from, to int64) (pull.Pull, error) {
	s := pull.NewStretch(cfg, from, to)
	var b trace.Batch
	for run, err := range db.IntactRuns(ctx, c.ID, from-before, to+behindSet, nil) {
		if err != nil {
			return pull.Pull{}, err
		}
		b = c.Batch(b, run)
		s.Push(b)
	}
	return s.Close()
}

// noStretch says that nothing can be measured between limits, and not that
// something went wrong.
func noStretch(err error) bool {
	return errors.Is(err, pull.ErrNoReadings) || errors.Is(err, pull.ErrNoPull) || errors.Is(err, pull.ErrTwoCalibrations)
}

// WithLimits gives a pull of the cell as it would be with a start and an end
// that a person sets, ns UTC, measured between them by what is in force.
// It changes nothing: Store.SavePull keeps what comes back. Limits that
// cannot be are refused with store.ErrLimits.
func (c Cell) WithLimits(ctx context.Context, db *store.Store, p store.Pull, from, to int64) (store.Pull, error) {
	return c.withLimits(ctx, db, p, from, to)
}

// withLimits is WithLimits; the pull may overlap besides.
func (c Cell) withLimits(ctx context.Context, db *store.Store, p store.Pull, from, to int64, besides ...int64) (store.Pull, error) {
	p, err := c.set(ctx, db, p, from, to)
	if err != nil {
		return p, err
	}
	return db.TryLimits(ctx, p, besides...)
}

// set measures a pull between limits, whether or not it may have them.
func (c Cell) set(ctx context.Context, db *store.Store, p store.Pull, from, to int64) (store.Pull, error) {
	switch {
	case to <= from:
		return p, notSet(words.Error("derived.limits.backwards"))
	case to-from > longest || to-from < 0:
		return p, notSet(words.Error("derived.limits.long"))
	}
	n, _, err := db.Count(ctx, c.ID, from, to)
	if err != nil {
		return p, err
	}
	if n > mostSet {
		return p, notSet(words.Error("derived.limits.many", (n+999_999)/1_000_000, mostSet/1_000_000))
	}
	found, err := c.Within(ctx, db, from, to)
	if noStretch(err) {
		return p, notSet(err)
	}
	if err != nil {
		return p, err
	}
	near := nearSet
	if found.Rate > 0 {
		near += int64(3e9 / found.Rate)
	}
	if found.Start-from > near {
		return p, notSet(words.Error("derived.limits.start", float64(found.Start-from)/1e9))
	}
	if to-found.End > near {
		return p, notSet(words.Error("derived.limits.end", float64(to-found.End)/1e9))
	}
	p.Limits, p.Found, p.By = &store.Limits{From: from, To: to}, found, c.By(found.PeakAt)
	return p, nil
}

func notSet(why error) error {
	return &store.Refusal{Reason: store.ErrLimits, Why: why}
}

// AsSet gives what was found of the cell from one time up to, not including,
// another, ns UTC, with the pulls of the log whose limits a person has set, or
// that a person made, in place of what was found where they are: measured between
// their limits by what is in force now, as far as those lie in that time. Where
// nothing can be measured between them, what was found stays, and is remarked
// upon. What a person set aside is left out.
func (c Cell) AsSet(ctx context.Context, db *store.Store, cfg pull.Config, found []pull.Pull, from, to int64) (pulls []pull.Pull, remarks []string, err error) {
	limited, err := db.PullsWithLimits(ctx, c.ID, from, to)
	if err != nil {
		return nil, nil, err
	}
	pulls = slices.Clone(found)
	var setByHand []pull.Pull
	for _, p := range limited {
		if p.Aside != nil {
			was, _ := p.ByFinder()
			pulls = slices.DeleteFunc(pulls, func(f pull.Pull) bool { return was.Start <= f.PeakAt && f.PeakAt <= was.End })
			continue
		}
		first, last := max(p.Limits.From, from), min(p.Limits.To, to-1)
		set, err := pull.Pull{}, pull.ErrNoReadings
		if first <= last {
			set, err = c.within(ctx, db, cfg, first, last)
		}
		if noStretch(err) && first == p.Limits.From && last == p.Limits.To {
			remarks = append(remarks, words.Say("derived.limits.asfound", p.ID, err))
			continue
		}
		if err != nil && !noStretch(err) {
			return nil, nil, err
		}
		own := p.Limits.Found.PeakAt
		pulls = slices.DeleteFunc(pulls, func(f pull.Pull) bool {
			return f.Start <= own && own <= f.End || f.Start <= last && first <= f.End
		})
		if err == nil {
			setByHand = append(setByHand, set)
		}
	}
	pulls = append(pulls, setByHand...)
	slices.SortStableFunc(pulls, func(a, b pull.Pull) int { return cmp.Compare(a.Start, b.Start) })
	return pulls, remarks, nil
}

// AsFound gives a pull as it would be without the limits that a person has set.
// It changes nothing; what the analysis found is as it was measured last.
func AsFound(ctx context.Context, db *store.Store, p store.Pull) (store.Pull, error) {
	p.Limits = nil
	return db.TryLimits(ctx, p)
}
