package record

import (
	"context"
	"fmt"
	"log/slog"
	"sync"
	"time"

	"tautlog/calc/calibrate"
	"tautlog/ingest/port"
	"tautlog/ingest/store"
	"tautlog/ingest/wire"
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
	// Hold is how many readings, of all cells together, are held in memory
	// while the disk refuses them; 4 million when 0, which takes some 60 MB
	// and lasts for 66 minutes of one cell at 1 kHz.
	Hold int
	// Follow follows a serial line; port.Follow when nil.
	Follow func(context.Context, port.Line, func(port.Event)) error
}

const (
	defaultCommitEvery = 250 * time.Millisecond
	defaultHold        = 4_000_000
	// clockBehind is how far the wall clock may be behind the latest stored
	// reading before times go on from that reading instead.
	clockBehind = int64(5e8)
)

// Recorder records cells.
type Recorder struct {
	cfg    Config
	log    *slog.Logger
	hub    *hub
	lines  []*line
	writer *writer
	done   chan struct{}
	clock  timebase
}

// New makes a Recorder. Nothing is opened before Run. It panics where the
// Config has no Store.
func New(c Config) *Recorder {
	if c.Store == nil {
		panic("record: Config without a Store")
	}
	if c.Log == nil {
		c.Log = slog.New(slog.DiscardHandler)
	}
	if c.Now == nil {
		c.Now = time.Now
	}
	if c.CommitEvery <= 0 {
		c.CommitEvery = defaultCommitEvery
	}
	if c.Hold <= 0 {
		c.Hold = defaultHold
	}
	if c.Follow == nil {
		c.Follow = port.Follow
	}
	r := &Recorder{cfg: c, log: c.Log, hub: newHub(), done: make(chan struct{})}
	r.clock.begin(c.Now())
	r.writer = newWriter(c)
	for _, cell := range c.Cells {
		r.lines = append(r.lines, newLine(cell, r))
	}
	r.writer.lines = r.lines
	return r
}

// Run records until ctx ends, and returns when everything is written. It can
// be called once. The error says what could not be begun, or what could not
// be written at the end.
func (r *Recorder) Run(ctx context.Context) error {
	defer close(r.done)
	defer r.hub.board.End()
	if err := r.prepare(ctx); err != nil {
		return err
	}
	var follow, announce, write sync.WaitGroup
	ended := make(chan struct{})
	var unwritten error
	write.Go(func() { unwritten = r.writer.run(ended) })
	for _, l := range r.lines {
		follow.Go(func() { l.follow(ctx, r.cfg.Follow) })
		announce.Go(func() { l.announce(ended) })
	}
	<-ctx.Done()
	follow.Wait()
	close(ended)
	write.Wait()
	announce.Wait()
	return unwritten
}

// prepare makes the decoders and sees to it that times go on behind what is
// stored already.
func (r *Recorder) prepare(ctx context.Context) error {
	var latest int64
	for _, l := range r.lines {
		dec, err := wire.New(l.cell.Wire)
		if err != nil {
			return fmt.Errorf("cell %s cannot be recorded: %w", l.cell.Name, err)
		}
		_, last, _, err := r.cfg.Store.Span(ctx, l.cell.ID)
		if err != nil {
			return fmt.Errorf("cell %s cannot be recorded: looking for its latest reading: %w", l.cell.Name, err)
		}
		latest = max(latest, last)
		l.dec = dec
		l.clock = newSampleClock(l.cell.Rate, quantum(l.cell.Wire), last)
	}
	r.clock.begin(r.cfg.Now())
	if behind := r.clock.goOnFrom(latest); behind > 0 {
		r.log.Warn("the computer's clock is behind the latest stored reading: set it and start again",
			"behind", behind.Round(time.Second))
	}
	return nil
}

// quantum is how finely the instrument tells time, in ns.
func quantum(c wire.Config) float64 {
	if c.Format != wire.Text {
		return defaultQuantum
	}
	return c.Text.TickScale * defaultQuantum
}

// Done is closed when Run has returned and the last announcement was made.
func (r *Recorder) Done() <-chan struct{} { return r.done }

// Subscribe delivers announcements from now on. A receiver that is too slow
// loses the oldest and is told how many.
func (r *Recorder) Subscribe() *Subscription { return r.hub.board.Subscribe() }

// Observe has handle called with every announcement, in the order of each
// cell: nothing is left out, so handle must return at once and must not call
// the Recorder. Stop ends it.
func (r *Recorder) Observe(handle func(Announcement)) (stop func()) { return r.hub.observe(handle) }

// Statuses says how each cell is doing, in the order of the configuration.
func (r *Recorder) Statuses() []Status {
	all := make([]Status, len(r.lines))
	for i, l := range r.lines {
		all[i] = l.status(r.cfg.Now())
	}
	return all
}

// SetCurve has the forces of a cell announced by another curve from now on.
// What is kept are the readings, which do not change by it.
func (r *Recorder) SetCurve(cell int64, c calibrate.Curve) {
	for _, l := range r.lines {
		if l.cell.ID == cell {
			l.mu.Lock()
			l.cell.Curve = c
			l.mu.Unlock()
		}
	}
}
