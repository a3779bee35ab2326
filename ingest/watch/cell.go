package watch

import (
	"context"
	"fmt"
	"log/slog"
	"sync"
	"time"

	"tautlog/analysis/pull"
	"tautlog/analysis/trace"
	"tautlog/ingest/record"
	"tautlog/ingest/store"
)

// cell watches one cell. All but current is of one goroutine.
type cell struct {
	store.Cell
	watcher *Watcher
	log     *slog.Logger
	queue   *queue
	finder  *pull.Finder
	shelf   *shelf

	last   int64     // time of the latest reading that the finder has seen
	pushed time.Time // when it saw it
	taut   bool
	told   int64 // start of the pull that was shown because its cell fell silent

	mu    sync.Mutex
	state pull.State
}

func newCell(sc store.Cell, w *Watcher) *cell {
	log := w.log.With("cell", sc.Name)
	return &cell{
		Cell: sc, watcher: w, log: log, queue: newQueue(), finder: pull.NewFinder(finderConfig(sc)),
		shelf: newShelf(sc.ID, w, log),
	}
}

// finderConfig is what is known of a cell.
func finderConfig(c store.Cell) pull.Config {
	step := c.Curve.Slope(0)
	return pull.Config{
		Capacity: c.Capacity, Resolution: max(step, -step), Relative95: c.Curve.Relative95,
		LagSeconds: c.LagSeconds, NominalRate: c.Rate,
	}
}

// retryEvery is how often pulls that could not be saved are tried again.
const retryEvery = 2 * time.Second

// run looks through what is stored, then follows what is recorded.
func (c *cell) run(ctx context.Context, recorded <-chan struct{}) error {
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
			c.push(a.Readings.Batch)
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
	c.mu.Unlock()
	for _, p := range over {
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
	c.finder, c.taut = pull.NewFinder(finderConfig(c.Cell)), false
}

// finish keeps the pull going on as a first result: when the recorder runs
// again, it is looked at again together with what follows.
func (c *cell) finish() error {
	for _, p := range c.finder.Close() {
		c.shelf.save(p, false)
	}
	if n := c.shelf.retry(); n > 0 {
		return fmt.Errorf("%d pulls of cell %s could not be saved; they are found again from the stored readings at the next start", n, c.Name)
	}
	return nil
}

func (c *cell) current() pull.State {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.state
}
