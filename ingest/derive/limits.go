package derive

import (
	"context"
	"errors"
	"fmt"
	"time"

	"tautlog/analysis/pull"
	"tautlog/analysis/trace"
	"tautlog/ingest/store"
)

const (
	// behindSet is what a Stretch is shown behind its end.
	behindSet = int64(5e9)
	// longest is how long a pull with limits may be.
	longest = int64(6 * time.Hour)
	// nearSet is how far from a limit the nearest reading may be, with three
	// readings' time on top: further away nothing was recorded there.
	nearSet = int64(time.Second)
)

// Within measures a stretch of a cell from its readings, both limits included,
// in ns UTC; see pull.Stretch for its errors. A damaged block is a gap.
func (c Cell) Within(ctx context.Context, db *store.Store, from, to int64) (pull.Pull, error) {
	s := pull.NewStretch(c.Config(), from, to)
	var b trace.Batch
	for run, err := range db.Runs(ctx, c.ID, from-before, to+behindSet) {
		if errors.Is(err, store.ErrDamaged) {
			continue
		}
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
	switch {
	case to <= from:
		return p, notSet("it would end before it starts; set an end behind the start")
	case to-from > longest || to-from < 0:
		return p, notSet("a pull of more than six hours; set them closer")
	}
	found, err := c.Within(ctx, db, from, to)
	if noStretch(err) {
		return p, notSet("%w", err)
	}
	if err != nil {
		return p, err
	}
	near := nearSet
	if found.Rate > 0 {
		near += int64(3e9 / found.Rate)
	}
	if found.Start-from > near {
		return p, notSet("nothing was recorded at that start; the first reading behind it came %.1f s later", float64(found.Start-from)/1e9)
	}
	if to-found.End > near {
		return p, notSet("nothing was recorded at that end; the last reading before it came %.1f s earlier", float64(to-found.End)/1e9)
	}
	p.Limits, p.Found, p.By = &store.Limits{From: from, To: to}, found, c.By(found.PeakAt)
	return db.TryLimits(ctx, p)
}

func notSet(why string, args ...any) error {
	return fmt.Errorf("%w: %w", store.ErrLimits, fmt.Errorf(why, args...))
}

// AsFound gives a pull as it would be without the limits that a person has set.
// It changes nothing; what the analysis found is as it was measured last.
func AsFound(ctx context.Context, db *store.Store, p store.Pull) (store.Pull, error) {
	p.Limits = nil
	return db.TryLimits(ctx, p)
}
