package record

import (
	"context"
	"log/slog"
	"sync"
	"time"

	"tautlog/ingest/port"
	"tautlog/ingest/store"
	"tautlog/ingest/wire"
)

// line records one cell: what arrives is decoded, timed, and laid out for the
// writer and for the announcer.
type line struct {
	cell   store.Cell
	log    *slog.Logger
	hub    *hub
	base   *timebase
	writer *writer
	now    func() time.Time
	asker  *asker // nil where nothing is sent

	news  chan struct{} // there is something to announce
	ended chan struct{} // there will be nothing more
	told  chan struct{} // nothing will be announced any more
	leave func()        // ends follow and waits for its end; nil before it began

	mu       sync.Mutex
	dec      wire.Decoder
	clock    *sampleClock
	readings []wire.Reading // that have no times yet
	oldest   time.Time      // arrival of the first of them
	held     *time.Timer    // releases them
	stamps   []stamp        // scratch

	state   state
	fresh   news
	pending buffer
}

// news is what the announcer has still to announce.
type news struct {
	batch  *Readings
	status bool
}

// announceEvery is the least time between two announcements of readings of a
// cell. It is shorter than bytes gather between two reads of a line, so that
// what was read there is announced at once and no timer runs for it.
const announceEvery = 15 * time.Millisecond

func newLine(cell store.Cell, r *Recorder) *line {
	l := &line{
		cell: cell, log: r.log.With("cell", cell.Name), hub: r.hub, base: &r.clock, writer: r.writer, now: r.cfg.Now,
		news: make(chan struct{}, 1), ended: make(chan struct{}), told: make(chan struct{}), state: state{since: r.cfg.Now()},
	}
	l.held = time.AfterFunc(time.Hour, l.release)
	l.held.Stop()
	return l
}

// succeed takes over from an earlier line of the same cell, which is followed
// no more: what waits for the disk, what is known of the disk, and that times
// go on behind its own.
func (l *line) succeed(old *line) {
	old.mu.Lock()
	defer old.mu.Unlock()
	l.mu.Lock()
	defer l.mu.Unlock()
	l.pending, old.pending = old.pending, buffer{}
	l.state.held, l.state.refusal, l.state.room, l.state.lost = old.state.held, old.state.refusal, old.state.room, old.state.lost
	l.state.lastTime = old.state.lastTime
	l.clock.grid.last = max(l.clock.grid.last, old.clock.grid.last)
}

// follow follows the port until ctx ends.
func (l *line) follow(ctx context.Context, follow func(context.Context, port.Line, func(port.Event)) error) {
	err := follow(ctx, l.cell.Line, l.handle)
	l.asker.down()
	l.held.Stop()
	l.release()
	if err == nil || ctx.Err() != nil {
		return
	}
	l.log.Error("recording of the cell has stopped", "error", err)
	l.change(func(s *state) { s.up, s.since, s.failed = false, l.now(), err })
}

// handle takes what happens on the port.
func (l *line) handle(e port.Event) {
	switch {
	case e.Up:
		l.returned()
		l.log.Info("line opened", "line", l.cell.Line.Path)
		l.change(func(s *state) { s.up, s.since, s.down, s.silent = true, e.At, nil, false })
		l.asker.up(e.Send)
	case e.Down != nil:
		l.returned()
		l.log.Warn("line is away", "line", l.cell.Line.Path, "error", e.Down)
		l.change(func(s *state) { s.up, s.since, s.down, s.silent = false, e.At, e.Down, false })
	default:
		l.take(e)
	}
}

func (l *line) returned() {
	l.asker.down()
	l.release()
	l.mu.Lock()
	defer l.mu.Unlock()
	l.dec.Reset()
	l.clock.lineReturned()
}

// take decodes bytes and keeps what they hold.
func (l *line) take(e port.Event) {
	l.mu.Lock()
	before, lost := len(l.readings), l.dec.Stats().Lost
	l.readings = l.dec.Decode(l.readings, e.Bytes)
	l.state.decode = l.dec.Stats()
	if before == 0 {
		if l.oldest = e.At; !e.Since.IsZero() {
			l.oldest = e.Since
		}
	}
	fresh, at := l.readings[before:], e.At
	if l.asker.polls() {
		fresh, at = l.asker.answer(fresh, at)
		l.readings = l.readings[:before+len(fresh)]
	}
	l.stamps = l.clock.stamp(l.stamps[:0], fresh, int(l.state.decode.Lost-lost), l.base.at(at))
	if len(fresh) > 0 {
		l.heard(e.At)
	}
	l.keep()
	if before == 0 && len(l.readings) > 0 {
		l.held.Reset(time.Duration(holdTime))
	}
	l.mu.Unlock()
}

// heard notes that readings have arrived.
func (l *line) heard(at time.Time) {
	if l.state.silent {
		l.fresh.status = true
	}
	l.state.read(at)
}

// release keeps what the clock has held back.
func (l *line) release() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.stamps = l.clock.release(l.stamps[:0])
	l.keep()
}

// keep lays out the readings that have their times, for the writer and the
// announcer.
func (l *line) keep() {
	if len(l.stamps) == 0 {
		return
	}
	if l.pending.empty() {
		l.writer.arrived()
	}
	if l.fresh.batch == nil {
		l.fresh.batch = newReadings(len(l.readings))
	}
	for i, r := range l.readings {
		s := l.stamps[i]
		l.pending.add(l.cell.ID, s, r, l.oldest)
		l.fresh.batch.add(s.t, float64(l.cell.Curve.Force(float64(r.Raw))), r)
	}
	l.state.lastTime = time.Unix(0, l.stamps[len(l.stamps)-1].t).UTC()
	l.readings = l.readings[:0]
	l.tell()
}

// quiet reports whether nothing was read for some time.
func (l *line) quiet(patience time.Duration) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.now().Sub(l.state.heard()) >= patience
}

// change changes the state and has it announced.
func (l *line) change(f func(*state)) {
	l.mu.Lock()
	f(&l.state)
	l.fresh.status = true
	l.mu.Unlock()
	l.tell()
}

// tell wakes the announcer.
func (l *line) tell() {
	select {
	case l.news <- struct{}{}:
	default:
	}
}

// announce announces what is new, readings at most every announceEvery, and
// looks for silence once a second, until ended is closed.
func (l *line) announce() {
	second := time.NewTicker(time.Second)
	defer second.Stop()
	pause := time.NewTimer(time.Hour)
	defer pause.Stop()
	var last time.Time
	for {
		select {
		case <-l.ended:
			l.publish()
			return
		case <-second.C:
			l.base.check(l.now())
			l.checkSilence()
			continue
		case <-l.news:
		}
		if wait := announceEvery - time.Since(last); wait > 0 {
			pause.Reset(wait)
			select {
			case <-pause.C:
			case <-l.ended:
			}
		}
		l.publish()
		last = time.Now()
	}
}

// publish announces what is new.
func (l *line) publish() {
	l.mu.Lock()
	n := l.fresh
	l.fresh = news{}
	l.mu.Unlock()
	if n.batch != nil {
		l.hub.publish(Announcement{Cell: l.cell.ID, Readings: n.batch})
	}
	if n.status {
		s := l.status(l.now())
		l.mu.Lock()
		l.state.told = s.Problem
		l.mu.Unlock()
		l.hub.publish(Announcement{Cell: l.cell.ID, Status: &s})
	}
}

// checkSilence announces the state again while nothing is read, and whenever
// its problem has changed.
func (l *line) checkSilence() {
	l.mu.Lock()
	l.state.watch(l.now(), l.patience())
	text := l.problem(l.now())
	changed := text != l.state.told
	l.state.told = text
	l.mu.Unlock()
	if changed {
		l.change(func(*state) {})
	}
}

// status says how the cell is doing.
func (l *line) status(now time.Time) Status {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.state.watch(now, l.patience())
	var asked Asked
	if l.asker != nil {
		asked = l.asker.times
		asked.Within = l.asker.spread.most() / 2
	}
	return Status{
		Asked: asked,
		Cell:  l.cell.ID, Name: l.cell.Name,
		Up: l.state.up, Silent: l.state.silent, Since: l.state.since, Problem: l.problem(now),
		LastReading: l.state.lastTime, Decode: l.state.decode,
		Held: l.state.held, Lost: l.state.lost.n,
	}
}
