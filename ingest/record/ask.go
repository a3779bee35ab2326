package record

import (
	"context"
	"sync"
	"time"

	"tautlog/analysis/trace"
	"tautlog/ingest/port"
	"tautlog/ingest/wire"
)

// asker starts an instrument, and asks it for readings where it does not send
// by itself. Of its fields, what is below mu is guarded by the mutex of the
// line, because answers come there.
//
// Of a reading that was asked for it is known only that it was taken between
// the request and the end of the answer. Its time is the middle of the two: it
// is off by no more than half of that. On a line of a known rate the request
// and the answer take about as long to pass, so that the middle is also where
// the instrument most likely looked.
type asker struct {
	line    *line
	request []byte
	start   []byte
	every   time.Duration
	timeout time.Duration
	silence time.Duration // that must be between an answer and a request
	begun   time.Time     // when it was started last; of run

	stop    context.CancelFunc // ends what run does for the present connection
	running sync.WaitGroup

	// guarded by line.mu
	waiting  bool
	asked    time.Time
	answered chan struct{}
	missed   bool   // since the latest reading, a request went without an answer
	times    Asked  // of all requests
	spread   spread // of late
}

// Asked counts the requests to a cell that answers only when it is asked.
type Asked struct {
	Requests uint64
	Missed   uint64        // requests without an answer in time
	Late     uint64        // answers that nobody waited for any more, left out
	Within   time.Duration // half of the longest time of late from a request to its answer: times are off by no more than that
}

// spread is the longest of the latest times to an answer.
type spread struct {
	longest, before time.Duration
	n               int
}

func (s *spread) add(d time.Duration) {
	s.longest = max(s.longest, d)
	if s.n++; s.n == 64 {
		s.before, s.longest, s.n = s.longest, 0, 0
	}
}

func (s *spread) most() time.Duration { return max(s.longest, s.before) }

// newAsker gives nil for a cell that sends by itself and needs no start.
func newAsker(l *line) *asker {
	c := l.cell.Wire
	a := &asker{
		line: l, request: c.Request(), start: c.Start(), every: c.Ask.Period(), timeout: c.Ask.Patience(),
		silence: l.cell.Line.Silence(), stop: func() {}, answered: make(chan struct{}, 1),
	}
	if a.request == nil && a.start == nil {
		return nil
	}
	return a
}

// polls reports whether readings come only when asked for.
func (a *asker) polls() bool { return a != nil && a.request != nil }

// up begins to ask on a line that was opened.
func (a *asker) up(send port.Send) {
	if a == nil || send == nil {
		return
	}
	var ctx context.Context
	ctx, a.stop = context.WithCancel(context.Background()) // until down
	a.running.Go(func() { a.run(ctx, send) })
}

// down ends that. It must not be called with line.mu held.
func (a *asker) down() {
	if a == nil {
		return
	}
	a.stop()
	a.running.Wait()
	a.line.mu.Lock()
	a.waiting = false
	a.line.mu.Unlock()
}

// run starts the instrument and asks until ctx ends. What cannot be sent is
// tried again: whether the line is away is for port to tell.
func (a *asker) run(ctx context.Context, send port.Send) {
	timer := time.NewTimer(time.Hour)
	defer timer.Stop()
	wait := func(d time.Duration) bool {
		timer.Reset(max(0, d))
		select {
		case <-ctx.Done():
			return false
		case <-timer.C:
			return true
		}
	}
	a.begin(send)
	if !a.polls() {
		for wait(a.line.patience() / 4) {
			a.beginAgain(send)
		}
		return
	}
	// What was on its way when the line was opened is no answer.
	for due := time.Now().Add(settleTime); wait(time.Until(due)); {
		ended := a.ask(ctx, send, timer)
		if ctx.Err() != nil {
			return
		}
		due = a.next(due, ended)
		a.beginAgain(send)
	}
}

// settleTime is how long nothing is asked after the line was opened.
const settleTime = 50 * time.Millisecond

// begin sends what starts the instrument.
func (a *asker) begin(send port.Send) {
	if a.start != nil {
		a.begun = time.Now()
		_ = send(a.start) // silence will tell, and then it is sent again
	}
}

// beginAgain does so where nothing has come since for as long as people are
// told of it: the instrument may have lost its power.
func (a *asker) beginAgain(send port.Send) {
	if patience := a.line.patience(); a.start != nil && time.Since(a.begun) >= patience && a.line.quiet(patience) {
		a.begin(send)
	}
}

// ask sends one request, waits for its answer and tells when that was. An
// answer that does not come in time may still come: as long again nothing is
// asked, so that it is not taken for the next one.
func (a *asker) ask(ctx context.Context, send port.Send, timer *time.Timer) (ended time.Time) {
	a.expect()
	if err := send(a.request); err != nil {
		a.miss()
		return time.Now().Add(a.timeout)
	}
	timer.Reset(a.timeout)
	select {
	case <-ctx.Done():
	case <-a.answered:
	case <-timer.C:
		if a.miss() {
			return time.Now().Add(a.timeout)
		}
	}
	return time.Now()
}

// next is when to ask again: at the next moment of an even pace, as far as
// the line is silent then.
func (a *asker) next(due, ended time.Time) time.Time {
	free := ended.Add(a.silence)
	if a.every == 0 {
		return free
	}
	due = due.Add(a.every)
	if late := free.Sub(due); late > 0 {
		due = due.Add((late + a.every - 1) / a.every * a.every)
	}
	return due
}

// expect notes a request. Half an answer to one before is forgotten.
func (a *asker) expect() {
	a.line.mu.Lock()
	defer a.line.mu.Unlock()
	a.line.dec.Expect()
	select {
	case <-a.answered:
	default:
	}
	a.waiting, a.asked = true, time.Now()
	a.times.Requests++
}

// miss notes that no answer came; false where it just has.
func (a *asker) miss() bool {
	a.line.mu.Lock()
	defer a.line.mu.Unlock()
	if !a.waiting {
		return false
	}
	a.waiting, a.missed = false, true
	a.times.Missed++
	return true
}

// answer takes what was decoded of bytes that arrived at a moment, with
// line.mu held: the reading that was waited for, with the time that it has,
// and nothing else.
func (a *asker) answer(rs []wire.Reading, at time.Time) ([]wire.Reading, time.Time) {
	if len(rs) == 0 || !a.waiting {
		a.times.Late += uint64(len(rs))
		return rs[:0], at
	}
	a.waiting = false
	a.times.Late += uint64(len(rs) - 1)
	took := at.Sub(a.asked)
	a.spread.add(took)
	middle := a.asked.Add(took / 2)
	rs = rs[:1]
	if !rs[0].Timed {
		rs[0].Tick, rs[0].Timed = uint32(uint64(a.line.base.at(middle))/1000), true
		at = middle
	}
	if a.missed {
		rs[0].Mark |= trace.Lost
		a.missed = false
	}
	a.done()
	return rs, at
}

// done lets the request go.
func (a *asker) done() {
	select {
	case a.answered <- struct{}{}:
	default:
	}
}
