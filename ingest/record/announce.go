package record

import (
	"sync"

	"tautlog/analysis/trace"
)

// Announcement is news of one cell. Readings and Status are nil where the
// announcement is not about them.
type Announcement struct {
	Cell     int64
	Readings *Readings
	Status   *Status
	// Missed is the number of announcements that this subscriber lost, since
	// it was last told, because it did not keep up. All were older than this.
	Missed int
}

// Readings are consecutive readings of one cell as they arrived, with their
// times in nanoseconds UTC and their forces by the cell's curve. They are
// shared by all who receive them and must not be changed.
type Readings struct {
	trace.Batch
	Raw []int64
}

// Subscription delivers announcements to one receiver.
type Subscription struct {
	// C delivers the announcements. It is closed by Close, and when the
	// recorder has ended.
	C <-chan Announcement

	c      chan Announcement
	mu     sync.Mutex
	missed int
	closed bool
	leave  func(*Subscription)
}

// Close ends the subscription. It may be called more than once.
func (s *Subscription) Close() {
	s.leave(s)
	s.shut()
}

func (s *Subscription) shut() {
	s.mu.Lock()
	defer s.mu.Unlock()
	if !s.closed {
		s.closed = true
		close(s.c)
	}
}

// offer hands an announcement over without waiting. Where the receiver is
// behind, its oldest announcements go, and it is told how many.
func (s *Subscription) offer(a Announcement) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for !s.closed {
		a.Missed = s.missed
		select {
		case s.c <- a:
			s.missed = 0
			return
		default:
		}
		select {
		case old := <-s.c:
			s.missed += 1 + old.Missed
		default:
		}
	}
}

// backlog is how many announcements a subscriber may be behind. At one
// announcement in 20 ms and cell it is some five seconds of one cell.
const backlog = 256

// hub hands announcements to all subscribers and observers.
type hub struct {
	mu        sync.Mutex
	subs      map[*Subscription]struct{}
	observers map[*observer]struct{}
	ended     bool
}

type observer struct{ handle func(Announcement) }

func newHub() *hub {
	return &hub{subs: map[*Subscription]struct{}{}, observers: map[*observer]struct{}{}}
}

func (h *hub) subscribe() *Subscription {
	c := make(chan Announcement, backlog)
	s := &Subscription{C: c, c: c, leave: h.leave}
	h.mu.Lock()
	ended := h.ended
	if !ended {
		h.subs[s] = struct{}{}
	}
	h.mu.Unlock()
	if ended {
		s.shut()
	}
	return s
}

func (h *hub) leave(s *Subscription) {
	h.mu.Lock()
	defer h.mu.Unlock()
	delete(h.subs, s)
}

func (h *hub) observe(handle func(Announcement)) (stop func()) {
	o := &observer{handle}
	h.mu.Lock()
	defer h.mu.Unlock()
	h.observers[o] = struct{}{}
	return func() {
		h.mu.Lock()
		defer h.mu.Unlock()
		delete(h.observers, o)
	}
}

// publish calls the observers and offers a to the subscribers. Calls for the
// same cell must not overlap.
func (h *hub) publish(a Announcement) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for o := range h.observers {
		o.handle(a)
	}
	for s := range h.subs {
		s.offer(a)
	}
}

// end closes all subscriptions.
func (h *hub) end() {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.ended = true
	for s := range h.subs {
		s.shut()
	}
	clear(h.subs)
}
