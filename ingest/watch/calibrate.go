package watch

import (
	"context"
	"math"

	"tautlog/analysis/pull"
	"tautlog/ingest/derive"
	"tautlog/ingest/store"
)

// calibrate takes in how the readings of the cell become force, as the store
// has it now, and has the live line shown by that.
func (c *cell) calibrate(ctx context.Context) error {
	change, err := c.changed(ctx)
	if err != nil {
		return err
	}
	set, err := c.watcher.cfg.Store.CellByID(ctx, c.ID)
	if err != nil {
		return err
	}
	known, err := derive.Of(ctx, c.watcher.cfg.Store, set)
	if err != nil {
		return err
	}
	c.Cell, c.change = known, change
	c.finder, c.taut = pull.NewFinder(c.Config()), false
	c.watcher.cfg.Recorder.SetCurve(c.ID, c.History.At(c.now()).Curve)
	return nil
}

// now is the time at which the latest reading was taken.
func (c *cell) now() int64 { return max(c.last, c.watcher.cfg.Now().UnixNano()) }

// changed is the latest change in the journal of a set-up, a calibration or a
// zero of any cell.
func (c *cell) changed(ctx context.Context) (latest int64, err error) {
	for _, what := range []string{"cell", "calibration", "zero"} {
		changes, err := c.watcher.cfg.Store.Changes(ctx, store.JournalFilter{What: what, Limit: 1})
		if err != nil {
			return 0, err
		}
		for _, change := range changes {
			latest = max(latest, change.ID)
		}
	}
	return latest, nil
}

// recalibrate heeds a set-up, a calibration or a zero that was set, chosen or taken back
// meanwhile, or that comes into force now, as soon as no pull is going on. The
// latest readings are looked at again by it, so that the zero is known at once.
func (c *cell) recalibrate(ctx context.Context) {
	if _, ok := c.finder.Current(); ok {
		return
	}
	c.watcher.cfg.Recorder.SetCurve(c.ID, c.History.At(c.now()).Curve)
	change, err := c.changed(ctx)
	if err == nil && change != c.change {
		if err = c.calibrate(ctx); err == nil && c.last > 0 {
			from := max(c.last-quietBefore, c.History.At(c.last).From, c.ended+1)
			c.last = from - 1
			err = c.replay(ctx, from, math.MaxInt64)
		}
	}
	if err != nil && ctx.Err() == nil {
		c.log.Error("a change of the calibration could not be heeded and will be tried again", "error", err)
	}
}
