package watch

import (
	"context"
	"errors"
	"log/slog"
	"slices"
	"sync"
	"time"

	"tautlog/analysis/pull"
	"tautlog/calc/words"
	"tautlog/ingest/bulletin"
	"tautlog/ingest/record"
	"tautlog/ingest/store"
)

// Config says whom to watch.
type Config struct {
	Store    *store.Store
	Recorder *record.Recorder
	Cells    []store.Cell // the cells that the recorder records
	// Log receives what an operator may want to read later; nil for nothing.
	Log *slog.Logger
	// Now is the clock; time.Now when nil.
	Now func() time.Time
	// Zone is that of the days by which the work of a line is counted; the
	// computer's when nil.
	Zone *time.Location
}

// Found is a pull that was found.
type Found struct {
	// Pull is as saved. Its ID is 0 while the store cannot take it, as with a
	// full disk.
	Pull store.Pull
	// Provisional says that the line has gone slack but the pull may go on: a
	// rebound may follow. The same pull comes again until it is final.
	Provisional bool
	// Missed is the number of results that this subscriber lost, since it was
	// last told, because it did not keep up. All were older than this.
	Missed int
}

// Watcher watches the cells of a recorder.
type Watcher struct {
	cfg  Config
	log  *slog.Logger
	stop func() // to observe

	mu      sync.Mutex
	cells   []*cell
	running context.Context // of Run; nil before and after it
	errs    []error
	watch   sync.WaitGroup

	board *bulletin.Board[Found]
}

// Subscription delivers found pulls to one receiver.
type Subscription = bulletin.Subscription[Found]

// backlog is how many results a subscriber may be behind.
const backlog = 64

// New makes a Watcher. It must be made before the recorder runs, so that it
// sees every reading; from then on readings are kept for it until its Run
// takes them. It panics where the Config has no Store or no Recorder.
func New(c Config) *Watcher {
	if c.Store == nil || c.Recorder == nil {
		panic("watch: Config without a Store or a Recorder")
	}
	if c.Log == nil {
		c.Log = slog.New(slog.DiscardHandler)
	}
	if c.Now == nil {
		c.Now = time.Now
	}
	if c.Zone == nil {
		c.Zone = time.Local
	}
	w := &Watcher{cfg: c, log: c.Log, board: bulletin.NewBoard(backlog, func(f *Found) *int { return &f.Missed })}
	for _, sc := range c.Cells {
		w.cells = append(w.cells, newCell(sc, w))
	}
	w.stop = c.Recorder.Observe(func(a record.Announcement) {
		if one := w.cell(a.Cell); one != nil {
			one.queue.put(a)
		}
	})
	return w
}

// cell is a cell that is watched; nil for another.
func (w *Watcher) cell(id int64) *cell {
	w.mu.Lock()
	defer w.mu.Unlock()
	for _, c := range w.cells {
		if c.id == id {
			return c
		}
	}
	return nil
}

// Run watches until ctx ends and the recorder has ended, and returns when
// everything that was recorded has been seen and every pull saved. It is to
// run beside the recorder, with the same ctx.
func (w *Watcher) Run(ctx context.Context) error {
	w.mu.Lock()
	w.running = ctx
	for _, c := range w.cells {
		w.start(c)
	}
	w.mu.Unlock()
	<-w.cfg.Recorder.Done()
	w.mu.Lock()
	w.running = nil
	w.mu.Unlock()
	w.watch.Wait()
	w.stop()
	w.board.End()
	return errors.Join(w.errs...)
}

// start watches a cell from now on, with mu held.
func (w *Watcher) start(c *cell) {
	ctx := w.running
	w.watch.Go(func() {
		if err := c.run(ctx, w.cfg.Recorder.Done()); err != nil {
			w.mu.Lock()
			w.errs = append(w.errs, err)
			w.mu.Unlock()
		}
	})
}

// Set records a cell by its set-up as the store gives it, while Run goes on,
// and watches it. See record.Recorder's Set: a cell that is recorded already is
// from now on recorded in the new way, and its pull that is going on is not
// torn.
func (w *Watcher) Set(ctx context.Context, sc store.Cell) error {
	w.mu.Lock()
	if w.running == nil {
		w.mu.Unlock()
		return words.Error("watch.not", sc.Name, record.ErrNotRunning)
	}
	if !slices.ContainsFunc(w.cells, func(c *cell) bool { return c.id == sc.ID }) {
		c := newCell(sc, w)
		w.cells = append(w.cells, c) // first, so that it sees every reading
		w.start(c)
	}
	w.mu.Unlock()
	return w.cfg.Recorder.Set(ctx, sc)
}

// State says what the line of a cell is doing; the zero State for a cell that
// is not watched.
func (w *Watcher) State(cell int64) pull.State {
	if c := w.cell(cell); c != nil {
		return c.current()
	}
	return pull.State{}
}

// Work says what the line of a cell has carried today; the zero Work for a cell
// that is not watched.
func (w *Watcher) Work(cell int64) Work {
	if c := w.cell(cell); c != nil {
		return c.worked()
	}
	return Work{}
}

// Subscribe delivers found pulls from now on. A receiver that is too slow
// loses the oldest and is told how many.
func (w *Watcher) Subscribe() *Subscription { return w.board.Subscribe() }
