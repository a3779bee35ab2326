// Package bulletin hands values from one sender to any number of subscribers
// without ever waiting for one. It knows nothing of what it carries.
package bulletin

import "sync"

// Board delivers values of T. A subscriber that is behind loses the oldest
// and is told how many.
type Board[T any] struct {
	backlog int
	missed  func(*T) *int

	mu    sync.Mutex
	subs  map[*Subscription[T]]struct{}
	ended bool
}

// NewBoard makes a Board whose subscribers may be backlog values behind.
// Missed gives the place within a value where a subscriber reads how many
// values it lost since it was last told; all were older than that one.
func NewBoard[T any](backlog int, missed func(*T) *int) *Board[T] {
	return &Board[T]{backlog: backlog, missed: missed, subs: map[*Subscription[T]]struct{}{}}
}

// Subscription delivers values to one receiver.
type Subscription[T any] struct {
	// C delivers the values. It is closed by Close, and when the sender has
	// ended.
	C <-chan T

	c      chan T
	board  *Board[T]
	mu     sync.Mutex
	missed int
	closed bool
}

// Subscribe delivers values from now on.
func (b *Board[T]) Subscribe() *Subscription[T] {
	c := make(chan T, b.backlog)
	s := &Subscription[T]{C: c, c: c, board: b}
	b.mu.Lock()
	ended := b.ended
	if !ended {
		b.subs[s] = struct{}{}
	}
	b.mu.Unlock()
	if ended {
		s.shut()
	}
	return s
}

// Publish offers v to all subscribers. It does not wait for any of them.
func (b *Board[T]) Publish(v T) {
	b.mu.Lock()
	defer b.mu.Unlock()
	for s := range b.subs {
		s.offer(v)
	}
}

// End closes all subscriptions, also those that are made later.
func (b *Board[T]) End() {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.ended = true
	for s := range b.subs {
		s.shut()
	}
	clear(b.subs)
}

// Close ends the subscription. It may be called more than once.
func (s *Subscription[T]) Close() {
	s.board.mu.Lock()
	delete(s.board.subs, s)
	s.board.mu.Unlock()
	s.shut()
}

func (s *Subscription[T]) shut() {
	s.mu.Lock()
	defer s.mu.Unlock()
	if !s.closed {
		s.closed = true
		close(s.c)
	}
}

// offer hands v over without waiting. Where the receiver is behind, its
// oldest values go, and it is told how many.
func (s *Subscription[T]) offer(v T) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for !s.closed {
		*s.board.missed(&v) = s.missed
		select {
		case s.c <- v:
			s.missed = 0
			return
		default:
		}
		select {
		case old := <-s.c:
			s.missed += 1 + *s.board.missed(&old)
		default:
		}
	}
}
