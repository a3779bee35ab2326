package watch

import (
	"context"
	"errors"
	"time"

	"tautlog/analysis/trace"
	"tautlog/calc/words"
	"tautlog/ingest/store"
)

const (
	// lookBack is how far the stored readings are looked through at the start,
	// from the latest one back.
	lookBack = int64(15 * time.Minute)
	// lookBackMost is the same where a pull has not been settled.
	lookBackMost = int64(6 * time.Hour)
	// quietBefore is what the finder is shown of the time before a pull.
	quietBefore = int64(20 * time.Second)
)

// resume shows the finder what is stored since the latest settled pull, so
// that a pull that was interrupted, by a power cut say, is found together
// with what is recorded from now on.
func (c *cell) resume(ctx context.Context) error {
	_, last, n, err := c.watcher.cfg.Store.Span(ctx, c.ID)
	if err != nil || n == 0 {
		return err
	}
	known, err := c.watcher.cfg.Store.Pulls(ctx, store.PullFilter{From: last - lookBackMost, Cell: c.ID})
	if err != nil {
		return err
	}
	from := c.shelf.recall(known, last-lookBack)
	if err := c.replay(ctx, from, last+1); err != nil {
		return err
	}
	c.pushed = time.Unix(0, last)
	c.settleSilent()
	if p, ok := c.finder.Current(); ok {
		c.shelf.save(p, false)
		c.shelf.settleBefore(p.Start)
		return nil
	}
	c.shelf.settleBefore(last)
	return nil
}

// replay shows the finder the stored readings of a window. What is damaged is
// skipped, as a gap.
func (c *cell) replay(ctx context.Context, from, to int64) error {
	damaged := 0
	for run, err := range c.watcher.cfg.Store.IntactRuns(ctx, c.ID, from, to, func(*store.DamageError) { damaged++ }) {
		if err != nil {
			return err
		}
		c.push(c.Batch(trace.Batch{}, run))
	}
	if damaged > 0 {
		return errors.New(words.Count("watch.damaged", damaged))
	}
	return nil
}
