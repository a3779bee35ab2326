package listen

import (
	"context"
	"sync"
	"time"

	"tautlog/calc/words"
	"tautlog/ingest/port"
	"tautlog/ingest/wire"
)

// Rates are the usual speeds of serial lines in baud, in the order in which
// they are tried.
func Rates() []int { return []int{115200, 9600, 19200, 38400, 57600, 4800, 2400, 1200, 230400} }

// searchTime is how long each speed but the first is listened to.
const searchTime = 1500 * time.Millisecond

// For listens for a time, or until ctx ends. It fails when the line cannot be
// opened or nothing came.
//
// Where the line has no speed, the usual ones are tried until what comes can
// be read, first with one parity bit less and then with one: seven bits with
// parity are recognised in what eight bits show.
func For(ctx context.Context, o Options, d time.Duration) (*Hearing, error) {
	if o.Line.Baud != 0 {
		return listenOnce(ctx, o, d)
	}
	frames := []port.Frame{o.Line.Frame}
	if o.Line.Frame == "" {
		frames = []port.Frame{"", port.Frame8E1}
	}
	var best *Hearing
	for _, frame := range frames {
		for _, baud := range Rates() {
			o.Line.Baud, o.Line.Frame = baud, frame
			h, err := listenOnce(ctx, o, d)
			if err != nil && (best == nil && !o.asks() || h == nil) {
				return nil, err // a line that is silent at one speed is at all
			}
			if err == nil && h.convincing() || ctx.Err() != nil {
				return orBest(h, best, err)
			}
			if best == nil {
				best = h
			}
			d = min(d, searchTime)
		}
	}
	return orBest(best, nil, nil)
}

// discardFor is how long what waits is read away at most.
const discardFor = 2 * time.Second

// Leave reads away what the instrument has sent since it was heard: recording
// then begins with what it sends from now on, and does not count as missing what
// ran over while nobody listened.
func (h *Hearing) Leave(ctx context.Context) error {
	if h.options.Follow != nil { // which has no line that others could open
		return nil
	}
	ctx, cancel := context.WithTimeout(ctx, discardFor)
	defer cancel()
	return port.Discard(ctx, h.Line)
}

// orBest prefers what was heard last where anything was.
func orBest(h, best *Hearing, err error) (*Hearing, error) {
	if err != nil || h == nil || h.Bytes == 0 {
		if best != nil && best.Bytes > 0 {
			return best, nil
		}
		if err == nil && h != nil {
			err = h.silent("")
		}
		return nil, err
	}
	return h, nil
}

// asks reports whether anything is sent that wants an answer.
func (o Options) asks() bool { return o.Wire.Request() != nil }

// convincing reports whether the first proposal reads nearly all of what came.
func (h *Hearing) convincing() bool {
	all := h.Proposals()
	return len(all) > 0 && all[0].Stats.Units >= 3 && all[0].Stats.Rejected*10 <= all[0].Stats.Units
}

// listenOnce listens at one speed. The hearing is nil only where the line
// could not be opened.
func listenOnce(ctx context.Context, o Options, d time.Duration) (*Hearing, error) {
	ctx, cancel := context.WithTimeout(ctx, d)
	defer cancel()
	h := newHearing(o)
	var q questioner
	err := o.follow(ctx, func(e port.Event) {
		wasUp := h.wasUp
		h.take(e)
		switch {
		case e.Up && !wasUp:
			o.remark(words.Say("listen.begins", h.Line.Path, h.Line.Baud, d))
		case e.Down != nil && !wasUp:
			cancel()
		case e.Down != nil:
			o.remark(e.Down.Error())
		}
		if e.Up {
			q.ask(ctx, o.Wire, e.Send)
		}
	})
	q.end()
	switch {
	case err != nil:
		return nil, err
	case !h.wasUp && h.Problem != nil:
		return nil, h.Problem
	case h.Bytes == 0 && h.Problem != nil:
		return h, h.Problem
	case h.Bytes == 0:
		return h, h.silent(" " + words.Say("listen.within", d))
	}
	return h, nil
}

func (h *Hearing) silent(in string) error {
	if h.options.asks() {
		return words.Error("listen.noanswer", h.Line.Path, h.Line.Baud, in)
	}
	return words.Error("listen.nothing", h.Line.Path, h.Line.Baud, in)
}

// questioner asks an instrument for readings while it is listened to. It does
// not time them; recording does.
type questioner struct {
	stop context.CancelFunc
	work sync.WaitGroup
}

// slowest is the pace at which is asked where no pace was given, and the
// slowest one in any case, because a person waits.
const slowest = 200 * time.Millisecond

func (q *questioner) ask(ctx context.Context, c wire.Config, send port.Send) {
	q.end()
	start, request := c.Start(), c.Request()
	if send == nil || start == nil && request == nil {
		return
	}
	ctx, q.stop = context.WithCancel(ctx)
	every := slowest
	if p := c.Ask.Period(); p > 0 {
		every = min(p, slowest)
	}
	q.work.Go(func() {
		if start != nil {
			_ = send(start) // silence tells
		}
		pace := time.NewTicker(every)
		defer pace.Stop()
		for request != nil {
			_ = send(request)
			select {
			case <-ctx.Done():
				return
			case <-pace.C:
			}
		}
	})
}

func (q *questioner) end() {
	if q.stop != nil {
		q.stop()
		q.work.Wait()
		q.stop = nil
	}
}
