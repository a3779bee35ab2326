package record

import (
	"sync"

	"tautlog/analysis/trace"
	"tautlog/ingest/bulletin"
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
type Subscription = bulletin.Subscription[Announcement]

// backlog is how many announcements a subscriber may be behind. At one
// announcement in 20 ms and cell it is some five seconds of one cell.
const backlog = 256

// hub hands announcements to all subscribers and observers.
type hub struct {
	board *bulletin.Board[Announcement]

	mu        sync.Mutex
	observers map[*observer]struct{}
}

type observer struct{ handle func(Announcement) }

func newHub() *hub {
	return &hub{
		board:     bulletin.NewBoard(backlog, func(a *Announcement) *int { return &a.Missed }),
		observers: map[*observer]struct{}{},
	}
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
	h.board.Publish(a)
}
