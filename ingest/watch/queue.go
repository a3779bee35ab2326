package watch

import (
	"sync"

	"tautlog/ingest/record"
)

// queue holds announcements until they are taken. Nothing is left out.
type queue struct {
	mu    sync.Mutex
	items []record.Announcement
	ready chan struct{}
}

func newQueue() *queue { return &queue{ready: make(chan struct{}, 1)} }

// put appends an announcement.
func (q *queue) put(a record.Announcement) {
	q.mu.Lock()
	q.items = append(q.items, a)
	q.mu.Unlock()
	select {
	case q.ready <- struct{}{}:
	default:
	}
}

// take gives everything away.
func (q *queue) take() []record.Announcement {
	q.mu.Lock()
	defer q.mu.Unlock()
	items := q.items
	q.items = nil
	return items
}
