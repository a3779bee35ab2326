package record

import (
	"context"
	"log/slog"
	"slices"
	"sync"
	"time"

	"tautlog/calc/calibrate"
	"tautlog/calc/words"
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
	writer *writer
	done   chan struct{}
	clock  timebase

	setting  sync.Mutex // one cell is set after the other
	mu       sync.Mutex
	lines    []*line
	running  context.Context // of Run; nil before and after it
	follow   sync.WaitGroup
	announce sync.WaitGroup
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
	for _, l := range r.lines {
		r.writer.watch(l, nil)
	}
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
	var write sync.WaitGroup
	ended := make(chan struct{})
	var unwritten error
	write.Go(func() { unwritten = r.writer.run(ended) })
	r.mu.Lock()
	r.running = ctx
	for _, l := range r.lines {
		r.start(l)
	}
	r.mu.Unlock()
	<-ctx.Done()
	r.mu.Lock()
	r.running = nil
	r.mu.Unlock()
	r.follow.Wait()
	for _, l := range r.all() {
		close(l.ended)
	}
	close(ended)
	write.Wait()
	r.announce.Wait()
	return unwritten
}

// start follows a line from now on, with mu held.
func (r *Recorder) start(l *line) {
	ctx, stop := context.WithCancel(r.running)
	left := make(chan struct{})
	l.leave = func() { stop(); <-left }
	r.follow.Go(func() {
		defer close(left)
		defer stop()
		l.follow(ctx, r.cfg.Follow)
	})
	r.announce.Go(func() {
		defer close(l.told)
		l.announce()
	})
}

// all is the lines of the moment.
func (r *Recorder) all() []*line {
	r.mu.Lock()
	defer r.mu.Unlock()
	return slices.Clone(r.lines)
}

// ErrNotRunning says that the recorder does not run, or does no more.
var ErrNotRunning error = words.Kind("record.notrunning")

// Set records a cell by its set-up as the store gives it, while Run goes on:
// one more cell, or one that is recorded already in a new way, at another port
// say. Of what came by the earlier set-up nothing is lost. ErrNotRunning before
// Run and after it.
func (r *Recorder) Set(ctx context.Context, cell store.Cell) error {
	r.setting.Lock()
	defer r.setting.Unlock()
	l, old := newLine(cell, r), r.line(cell.ID)
	if _, err := r.ready(ctx, l); err != nil {
		return err
	}
	if old != nil && old.leave != nil {
		old.leave() // the port may be the same
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.running == nil {
		return words.Error("record.notrecorded", cell.Name, ErrNotRunning)
	}
	if old == nil {
		r.lines = append(r.lines, l)
	} else {
		r.lines[slices.Index(r.lines, old)] = l
		close(old.ended)
		<-old.told
		l.succeed(old)
	}
	r.writer.watch(l, old)
	r.start(l)
	return nil
}

// Drop records a cell no more. What came of it is kept. A cell that is not
// recorded is left as it is.
func (r *Recorder) Drop(cell int64) {
	r.setting.Lock()
	defer r.setting.Unlock()
	l := r.line(cell)
	if l == nil || l.leave == nil {
		return
	}
	l.leave()
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.running == nil {
		return
	}
	r.lines = slices.DeleteFunc(r.lines, func(o *line) bool { return o == l })
	close(l.ended)
	<-l.told
}

// line is the line of a cell; nil for one that is not recorded.
func (r *Recorder) line(cell int64) *line {
	for _, l := range r.all() {
		if l.cell.ID == cell {
			return l
		}
	}
	return nil
}

// prepare makes the decoders and sees to it that times go on behind what is
// stored already.
func (r *Recorder) prepare(ctx context.Context) error {
	var latest int64
	for _, l := range r.all() {
		last, err := r.ready(ctx, l)
		if err != nil {
			return err
		}
		latest = max(latest, last)
	}
	r.clock.begin(r.cfg.Now())
	if behind := r.clock.goOnFrom(latest); behind > 0 {
		r.log.Warn("the computer's clock is behind the latest stored reading: set it and start again",
			"behind", behind.Round(time.Second))
	}
	return nil
}

// ready makes a line ready to decode and to give times, and tells the time of
// the latest reading that is stored of it.
func (r *Recorder) ready(ctx context.Context, l *line) (last int64, err error) {
	dec, err := wire.New(l.cell.Wire)
	if err != nil {
		return 0, words.Error("record.cannot", l.cell.Name, err)
	}
	if _, last, _, err = r.cfg.Store.Span(ctx, l.cell.ID); err != nil {
		return 0, words.Error("record.cannot.latest", l.cell.Name, err)
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	l.dec, l.asker = dec, newAsker(l)
	l.clock = newSampleClock(l.cell.Rate, quantum(l.cell.Wire), last)
	l.clock.grid.exact = l.asker.polls()
	return last, nil
}

// quantum is how finely the instrument tells time, in ns.
func quantum(c wire.Config) float64 {
	if c.Request() != nil && c.Text.TickColumn == 0 {
		return askedQuantum
	}
	if c.Format != wire.Text {
		return defaultQuantum
	}
	return c.Text.TickScale * defaultQuantum
}

// askedQuantum is how finely the middle between request and answer is told,
// in ns: requests are no more even than a computer's timers.
const askedQuantum = 1e6

// Done is closed when Run has returned and the last announcement was made.
func (r *Recorder) Done() <-chan struct{} { return r.done }

// Subscribe delivers announcements from now on. A receiver that is too slow
// loses the oldest and is told how many.
func (r *Recorder) Subscribe() *Subscription { return r.hub.board.Subscribe() }

// Observe has handle called with every announcement, in the order of each
// cell: nothing is left out, so handle must return at once and must not call
// the Recorder. Stop ends it.
func (r *Recorder) Observe(handle func(Announcement)) (stop func()) { return r.hub.observe(handle) }

// Statuses says how each cell is doing, in the order of the configuration;
// cells that were added come behind.
func (r *Recorder) Statuses() []Status {
	lines := r.all()
	all := make([]Status, len(lines))
	for i, l := range lines {
		all[i] = l.status(r.cfg.Now())
	}
	return all
}

// Recorded are the cells that are recorded, as they are set up.
func (r *Recorder) Recorded() []store.Cell {
	lines := r.all()
	all := make([]store.Cell, len(lines))
	for i, l := range lines {
		l.mu.Lock()
		all[i] = l.cell
		l.mu.Unlock()
	}
	return all
}

// SetCurve has the forces of a cell announced by another curve from now on.
// What is kept are the readings, which do not change by it.
func (r *Recorder) SetCurve(cell int64, c calibrate.Curve) {
	for _, l := range r.all() {
		if l.cell.ID == cell {
			l.mu.Lock()
			l.cell.Curve = c
			l.mu.Unlock()
		}
	}
}
