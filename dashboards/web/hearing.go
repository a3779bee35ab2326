package web

import (
	"context"
	"sync"
	"time"

	"tautlog/ingest/listen"
)

// ear listens to serial lines for people who set up a cell, to one at a time:
// whoever listens anew ends what was listened to before.
type ear struct {
	mu     sync.Mutex
	latest *hearing
}

// hearing is one time of listening.
type hearing struct {
	number int64
	form   *sheet // as it was asked for
	stop   context.CancelFunc
	ended  chan struct{}

	mu   sync.Mutex
	says []string // what happened meanwhile

	// Once ended is closed:
	heard *listen.Hearing
	err   error
}

// longest is how long listening may take in all: every speed is tried twice.
const longest = time.Minute

// begin listens from now on, until it is done or over is closed.
func (e *ear) begin(o listen.Options, d time.Duration, form *sheet, over <-chan struct{}) *hearing {
	e.mu.Lock()
	defer e.mu.Unlock()
	h := &hearing{number: 1, form: form, ended: make(chan struct{})}
	if e.latest != nil {
		h.number = e.latest.number + 1
		e.latest.end()
	}
	var ctx context.Context
	ctx, h.stop = context.WithTimeout(context.Background(), longest) // it outlives the request
	o.Remark = h.remark
	go func() {
		defer h.stop()
		defer close(h.ended)
		h.heard, h.err = listen.For(ctx, o, d)
	}()
	go func() {
		select {
		case <-over:
			h.stop()
		case <-h.ended:
		}
	}()
	e.latest = h
	return h
}

// end stops listening and waits until the line is free.
func (h *hearing) end() {
	h.stop()
	<-h.ended
}

// now is the latest hearing; nil before any.
func (e *ear) now() *hearing {
	e.mu.Lock()
	defer e.mu.Unlock()
	return e.latest
}

// forget ends the latest hearing and drops it, so that its line is free.
func (e *ear) forget(h *hearing) {
	e.mu.Lock()
	defer e.mu.Unlock()
	h.end()
	if e.latest == h {
		e.latest = nil
	}
}

func (h *hearing) remark(say string) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.says = append(h.says, sentence(say))
}

// told is what happened so far.
func (h *hearing) told() []string {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.says[:len(h.says):len(h.says)]
}

// over says whether listening has ended.
func (h *hearing) over() bool {
	select {
	case <-h.ended:
		return true
	default:
		return false
	}
}
