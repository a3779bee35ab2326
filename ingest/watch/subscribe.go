package watch

import "sync"

// backlog is how many results a subscriber may be behind.
const backlog = 64

// Subscription delivers found pulls to one receiver.
type Subscription struct {
	// C delivers the results. It is closed by Close, and when the watcher has
	// ended.
	C <-chan Found

	c       chan Found
	mu      sync.Mutex
	missed  int
	closed  bool
	watcher *Watcher
}

// Close ends the subscription. It may be called more than once.
func (s *Subscription) Close() {
	s.watcher.mu.Lock()
	delete(s.watcher.subs, s)
	s.watcher.mu.Unlock()
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

// offer hands a result over without waiting. Where the receiver is behind,
// its oldest results go, and it is told how many.
func (s *Subscription) offer(f Found) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for !s.closed {
		f.Missed = s.missed
		select {
		case s.c <- f:
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

// Subscribe delivers found pulls from now on. A receiver that is too slow
// loses the oldest and is told how many.
func (w *Watcher) Subscribe() *Subscription {
	c := make(chan Found, backlog)
	s := &Subscription{C: c, c: c, watcher: w}
	w.mu.Lock()
	ended := w.ended
	if !ended {
		w.subs[s] = struct{}{}
	}
	w.mu.Unlock()
	if ended {
		s.shut()
	}
	return s
}

func (w *Watcher) publish(f Found) {
	w.mu.Lock()
	defer w.mu.Unlock()
	for s := range w.subs {
		s.offer(f)
	}
}

// end closes all subscriptions.
func (w *Watcher) end() {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.ended = true
	for s := range w.subs {
		s.shut()
	}
	clear(w.subs)
}
