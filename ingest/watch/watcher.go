package watch

import (
	"context"
	"log/slog"
	"sync"
	"time"

	"tautlog/analysis/pull"
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
	cfg   Config
	log   *slog.Logger
	cells []*cell
	stop  func() // to observe

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
	w := &Watcher{cfg: c, log: c.Log, board: bulletin.NewBoard(backlog, func(f *Found) *int { return &f.Missed })}
	queues := map[int64]*queue{}
	for _, sc := range c.Cells {
		one := newCell(sc, w)
		w.cells = append(w.cells, one)
		queues[sc.ID] = one.queue
	}
	w.stop = c.Recorder.Observe(func(a record.Announcement) {
		if q := queues[a.Cell]; q != nil {
			q.put(a)
		}
	})
	return w
}

// Run watches until ctx ends and the recorder has ended, and returns when
// everything that was recorded has been seen and every pull saved. It is to
// run beside the recorder, with the same ctx.
func (w *Watcher) Run(ctx context.Context) error {
	var all sync.WaitGroup
	errs := make([]error, len(w.cells))
	for i, c := range w.cells {
		all.Go(func() { errs[i] = c.run(ctx, w.cfg.Recorder.Done()) })
	}
	all.Wait()
	w.stop()
	w.board.End()
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// State says what the line of a cell is doing; the zero State for a cell that
// is not watched.
func (w *Watcher) State(cell int64) pull.State {
	for _, c := range w.cells {
		if c.ID == cell {
			return c.current()
		}
	}
	return pull.State{}
}

// Subscribe delivers found pulls from now on. A receiver that is too slow
// loses the oldest and is told how many.
func (w *Watcher) Subscribe() *Subscription { return w.board.Subscribe() }
