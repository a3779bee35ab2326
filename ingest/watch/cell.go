package watch

import (
	"context"
	"errors"
	"log/slog"
	"sync"
	"time"

	"tautlog/analysis/pull"
	"tautlog/analysis/trace"
	"tautlog/calc/words"
	"tautlog/ingest/derive"
	"tautlog/ingest/record"
	"tautlog/ingest/store"
)

// cell watches one cell. All but its id and current is of one goroutine.
type cell struct {
	id int64
	derive.Cell
	watcher *Watcher
	log     *slog.Logger
	queue   *queue
	finder  *pull.Finder
	shelf   *shelf

	last   int64     // time of the latest reading that the finder has seen
	pushed time.Time // when it saw it
	taut   bool
	ended  int64 // end of the latest pull that is over
	told   int64 // start of the pull that was shown because its cell fell silent
	change int64 // latest change of a set-up, a calibration or a zero that is heeded

	mu    sync.Mutex
	state pull.State
	work  *work
}

func newCell(sc store.Cell, w *Watcher) *cell {
	log := w.log.With("cell", sc.Name)
	c := &cell{id: sc.ID, Cell: derive.New(sc), watcher: w, log: log, queue: newQueue()}
	c.finder = pull.NewFinder(c.Config())
	c.work = newWork(sc.Capacity, sc.Rate)
	c.shelf = newShelf(sc.ID, w, log, func(at int64) store.Derived { return c.By(at) })
	return c
}

// retryEvery is how often pulls that could not be saved are tried again.
const retryEvery = 2 * time.Second

// run looks through what is stored, then follows what is recorded.
func (c *cell) run(ctx context.Context, recorded <-chan struct{}) error {
	if err := c.calibrate(ctx); err != nil {
		c.log.Error("the calibration could not be read and will be tried again; until then the curve of the set-up holds", "error", err)
	}
	if err := c.resume(ctx); err != nil {
		c.log.Error("the latest stored readings could not be looked through for pulls", "error", err)
	}
	retry := time.NewTicker(retryEvery)
	defer retry.Stop()
	for {
		select {
		case <-c.queue.ready:
			c.follow(c.queue.take())
		case <-retry.C:
			c.settleSilent()
			c.shelf.retry()
			c.recalibrate(ctx)
		case <-recorded:
			c.follow(c.queue.take())
			return c.finish()
		}
	}
}

// follow takes announcements.
func (c *cell) follow(news []record.Announcement) {
	for _, a := range news {
		if a.Readings != nil {
			r := a.Readings
			c.push(trace.Batch{T: r.T, F: c.Forces(make([]float64, 0, r.Len()), r.T, r.Raw), Marks: r.Marks})
		}
		if a.Status != nil && (!a.Status.Up || a.Status.Silent) {
			c.showUnderWay()
		}
	}
}

// push shows the finder those readings that it has not seen.
func (c *cell) push(b trace.Batch) {
	b = after(b, c.last)
	if b.Len() == 0 {
		return
	}
	c.last, c.pushed = b.T[b.Len()-1], c.watcher.cfg.Now()
	over := c.finder.Push(b)
	// Who is told of a pull finds the state that goes with it.
	s := c.finder.State()
	c.mu.Lock()
	c.state = s
	c.work.push(b, c.watcher.cfg.Zone)
	c.mu.Unlock()
	for _, p := range over {
		c.ended = max(c.ended, p.End)
		c.shelf.save(p, true)
	}
	if c.taut && !s.Taut {
		if p, ok := c.finder.Current(); ok {
			c.shelf.save(p, false)
		}
	}
	c.taut = s.Taut
}

// after cuts off what is not later than t.
func after(b trace.Batch, t int64) trace.Batch {
	n := 0
	for n < len(b.T) && b.T[n] <= t {
		n++
	}
	b.T, b.F = b.T[n:], b.F[n:]
	if b.Marks != nil {
		b.Marks = b.Marks[n:]
	}
	return b
}

// showUnderWay shows the pull going on as far as it has come, once, where its
// cell has been unplugged or fallen silent.
func (c *cell) showUnderWay() {
	p, ok := c.finder.Current()
	if !ok || p.Start == c.told {
		return
	}
	c.told = p.Start
	c.shelf.save(p, false)
}

// splitGap is a little more than the time without readings after which the
// finder would not add what follows to a pull.
const splitGap = 31 * time.Second

// settleSilent settles the pull going on where its cell has been silent for
// so long that nothing can be added to it any more.
func (c *cell) settleSilent() {
	if _, ok := c.finder.Current(); !ok || c.watcher.cfg.Now().Sub(c.pushed) < splitGap {
		return
	}
	for _, p := range c.finder.Close() {
		c.shelf.save(p, true)
	}
	c.finder, c.taut = pull.NewFinder(c.Config()), false
}

// finish keeps the pull going on as a first result: when the recorder runs
// again, it is looked at again together with what follows.
func (c *cell) finish() error {
	for _, p := range c.finder.Close() {
		c.shelf.save(p, false)
	}
	if n := c.shelf.retry(); n > 0 {
		return errors.New(words.Count("watch.unsaved", n, c.Name))
	}
	return nil
}

func (c *cell) current() pull.State {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.state
}

func (c *cell) worked() Work {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.work.sum()
}
