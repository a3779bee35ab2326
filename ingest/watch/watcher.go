package watch

import (
	"context"
	"log/slog"
	"time"

	"tautlog/analysis/pull"
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
	// Missed is the number of results that this subscriber lost before this
	// one, because it did not keep up.
	Missed int
}

// Watcher watches the cells of a recorder.
type Watcher struct{}

// New makes a Watcher. It must be made before the recorder runs, so that it
// sees every reading.
func New(c Config) *Watcher { return &Watcher{} }

// Run watches until ctx ends and the recorder has ended, and returns when
// everything that was recorded has been seen and every pull saved.
func (w *Watcher) Run(ctx context.Context) error { <-ctx.Done(); return nil }

// Subscription delivers found pulls to one receiver.
type Subscription struct {
	// C delivers the results. It is closed by Close, and when the watcher has
	// ended.
	C <-chan Found
}

// Close ends the subscription. It may be called more than once.
func (s *Subscription) Close() {}

// Subscribe delivers found pulls from now on.
func (w *Watcher) Subscribe() *Subscription { return &Subscription{} }

// State says what the line of a cell is doing; the zero State for a cell that
// is not watched.
func (w *Watcher) State(cell int64) pull.State { return pull.State{} }
