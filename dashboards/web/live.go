package web

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"time"

	"tautlog/calc/unit"
	"tautlog/ingest/record"
	"tautlog/ingest/store"
	"tautlog/ingest/watch"
)

const (
	beatEvery = 2 * time.Second
	// columnWidth is half the time between two announcements of readings: what
	// waits for its column to end waits little.
	columnWidth = 10 * time.Millisecond
)

// told is an event of the stream about a pull.
type told struct {
	ID      int64 `json:"id"`
	Settled bool  `json:"settled"`
}

// statusTold is an event of the stream about a cell.
type statusTold struct {
	Cell     string `json:"cell"`
	Sentence string `json:"sentence"`
	State    string `json:"state"` // of the line, where no reading comes; empty: readings tell it
}

// readingsTold is a batch of columns with the words of the moment.
type readingsTold struct {
	columns
	moment
}

// live streams what happens on a line until the browser or the daemon goes.
func (s *server) live(w http.ResponseWriter, r *http.Request) error {
	c, err := s.cellAsked(r)
	if err != nil {
		return err
	}
	if s.Recorder == nil || s.Watcher == nil {
		return refuse(http.StatusServiceUnavailable, text("refused.stream"))
	}
	client := clientOf(r).Address
	if !s.streams.open(client) {
		return refuse(http.StatusTooManyRequests, text("refused.streams"))
	}
	defer s.streams.close(client)
	news := s.Recorder.Subscribe()
	defer news.Close()
	found := s.Watcher.Subscribe()
	defer found.Close()
	h := w.Header()
	h.Set("Content-Type", "text/event-stream")
	h.Set("X-Accel-Buffering", "no")
	st := &stream{s: s, w: w, rc: http.NewResponseController(w), cell: c, unit: chosen(r).Unit, fold: newFolder(columnWidth.Nanoseconds()), told: map[string]statusTold{}}
	if st.greet(r.Context()) == nil {
		st.run(r, news, found)
	}
	return nil
}

// How many streams there may be: pages that are open at once on one machine,
// and in all.
const (
	streamsOfOne = 12
	streamsOfAll = 200
)

// stream is one browser that listens.
type stream struct {
	s    *server
	w    http.ResponseWriter
	rc   *http.ResponseController
	cell store.Cell
	unit unit.ForceUnit
	fold *folder

	rigged int64                 // when the rig that the browser shows was set
	limit  *limitView            // of that rig
	told   map[string]statusTold // what was last said of each cell
}

// greet tells a browser that came what it may have missed.
func (st *stream) greet(ctx context.Context) error {
	st.rigged = st.rigSince(ctx)
	st.limit = st.limitNow(ctx)
	if err := st.send("hello", map[string]string{"boot": st.s.boot}); err != nil {
		return err
	}
	return st.statuses()
}

// statuses tells how the cells are doing, those whose sentence has changed.
func (st *stream) statuses() error {
	for _, a := range st.s.Recorder.Statuses() {
		if err := st.status(a); err != nil {
			return err
		}
	}
	return nil
}

// rigSince is when the rig in force was set; 0 where none is, or where the
// store cannot say just now.
func (st *stream) rigSince(ctx context.Context) int64 {
	setup, err := st.s.Store.Setup(ctx, st.cell.ID)
	if err != nil {
		return 0
	}
	return setup.Since
}

// limitNow is the limit of the rig in force; nil where none is, or where the
// store cannot say just now.
func (st *stream) limitNow(ctx context.Context) *limitView {
	setup, err := st.s.Store.Setup(ctx, st.cell.ID)
	if err != nil || setup.Rig == 0 {
		return nil
	}
	d, err := st.s.Store.Rig(ctx, setup.Rig)
	if err != nil {
		return nil
	}
	return lineLimit(d.Value, st.cell, st.unit)
}

// beat shows that the daemon is there, and tells when another rig is in force.
func (st *stream) beat(ctx context.Context) error {
	if since := st.rigSince(ctx); since != st.rigged {
		st.rigged, st.limit = since, st.limitNow(ctx)
		if err := st.send("rig", map[string]int64{"since": since}); err != nil {
			return err
		}
	}
	if err := st.statuses(); err != nil {
		return err
	}
	return st.send("beat", map[string]int64{"now": st.s.Now().UnixMilli()})
}

// run ends when the browser has gone, the server is asked to end, or the
// recorder has ended; a browser comes back by itself.
func (st *stream) run(r *http.Request, news *record.Subscription, found *watch.Subscription) {
	beat := time.NewTicker(beatEvery)
	defer beat.Stop()
	for {
		var err error
		select {
		case <-r.Context().Done():
			return
		case a, ok := <-news.C:
			if !ok {
				return
			}
			err = st.news(a)
		case f, ok := <-found.C:
			if !ok {
				return
			}
			err = st.found(r.Context(), f)
		case <-beat.C:
			if !st.s.stillIn(r) {
				return
			}
			err = st.beat(r.Context())
		}
		if err != nil {
			return
		}
	}
}

func (st *stream) news(a record.Announcement) error {
	if a.Status != nil {
		if err := st.status(*a.Status); err != nil {
			return err
		}
	}
	if a.Readings != nil && a.Cell == st.cell.ID {
		st.fold.push(a.Readings.Batch)
		return st.flush()
	}
	return nil
}

func (st *stream) status(a record.Status) error {
	said := statusTold{Cell: a.Name, Sentence: st.s.statusSentence(a.Name, a)}
	if unread(a) {
		said.State = awaySays(a)
	}
	if st.told[a.Name] == said {
		return nil
	}
	st.told[a.Name] = said
	return st.send("status", said)
}

func (st *stream) found(ctx context.Context, f watch.Found) error {
	switch {
	case f.Pull.ID == 0:
		return nil
	case f.Pull.Cell != st.cell.ID:
		return st.foundBeside(ctx, f.Pull)
	}
	return st.send("pull", told{f.Pull.ID, f.Pull.Settled})
}

// foundBeside tells the latest pull of this cell anew when the rig's other cell
// has seen it too: from then on it is judged by both.
func (st *stream) foundBeside(ctx context.Context, q store.Pull) error {
	mine, err := st.s.Store.Pulls(ctx, store.PullFilter{Cell: st.cell.ID, Limit: 1})
	if err != nil || len(mine) == 0 {
		return nil // the page still has what it was told
	}
	other, ok, err := st.s.Store.PullBeside(ctx, mine[0])
	if err != nil || !ok || other.ID != q.ID {
		return nil
	}
	return st.send("pull", told{mine[0].ID, mine[0].Settled})
}

// flush sends the columns that are complete, with the zero taken off as the
// watcher takes it.
func (st *stream) flush() error {
	cols := st.fold.take()
	if len(cols.T) == 0 {
		return nil
	}
	now := st.s.Watcher.State(st.cell.ID)
	cols.shift(-float64(now.Baseline))
	return st.send("readings", readingsTold{cols, st.s.moment(now, st.cell, st.limit, st.unit)})
}

func (st *stream) send(event string, v any) error {
	b, err := json.Marshal(v)
	if err != nil {
		panic("web: an event that is no JSON: " + err.Error())
	}
	if err := st.rc.SetWriteDeadline(time.Now().Add(10 * time.Second)); err != nil {
		return err
	}
	if _, err := fmt.Fprintf(st.w, "event: %s\ndata: %s\n\n", event, b); err != nil {
		return err
	}
	return st.rc.Flush()
}
