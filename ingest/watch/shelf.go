package watch

import (
	"context"
	"log/slog"
	"slices"

	"tautlog/analysis/pull"
	"tautlog/ingest/derive"
	"tautlog/ingest/store"
)

// shelf keeps the pulls of one cell in the store, and those that the store
// could not take until it can.
type shelf struct {
	cell    int64
	watcher *Watcher
	log     *slog.Logger
	by      func(at int64) store.Derived

	settled []span       // what was settled before the start
	open    []store.Pull // first results that are not settled
	unsaved []store.Pull
}

// span is a stretch of time.
type span struct{ from, to int64 }

func (s span) meets(p pull.Pull) bool { return p.Start <= s.to && s.from <= p.End }

func spanOf(p store.Pull) span {
	from, to := p.Span()
	return span{from, to}
}

func newShelf(cell int64, w *Watcher, log *slog.Logger, by func(at int64) store.Derived) *shelf {
	return &shelf{cell: cell, watcher: w, log: log, by: by}
}

// recall takes in what the store knows already, the latest first, and says
// from when on readings are to be looked through: not earlier than floor but
// for what is not settled.
func (s *shelf) recall(known []store.Pull, floor int64) (from int64) {
	from = floor
	for _, p := range known {
		if p.Settled {
			at := spanOf(p)
			s.settled = append(s.settled, at)
			from = max(from, at.from-quietBefore)
		}
	}
	for _, p := range known {
		if !p.Settled {
			s.open = append(s.open, p)
			from = min(from, p.Found.Start-quietBefore)
		}
	}
	return from
}

// save keeps what was found and tells the subscribers. Final is false for a
// first result. What was settled before the start stays as it is.
func (s *shelf) save(found pull.Pull, final bool) {
	for _, t := range s.settled {
		if t.meets(found) {
			return
		}
	}
	s.store(store.Pull{Cell: s.cell, Found: found, By: s.by(found.PeakAt), Kind: found.Kind}, final)
}

// store writes a pull with what was in force when it began.
func (s *shelf) store(p store.Pull, final bool) {
	p.Settled = final
	s.forget(p)
	saved, err := s.write(p)
	if err != nil {
		s.log.Error("a pull could not be saved and will be tried again", "error", err)
		s.unsaved = append(s.unsaved, p)
		saved = p
	}
	if !final {
		s.open = append(s.open, saved)
	}
	if saved.Aside == nil { // else it was found again where a person saw none
		s.watcher.board.Publish(Found{Pull: saved, Provisional: !final})
	}
}

// forget drops earlier results of the same pull, and of those that turned out
// to be part of it.
func (s *shelf) forget(p store.Pull) {
	same := func(o store.Pull) bool { return spanOf(o).meets(p.Found) }
	s.open = slices.DeleteFunc(s.open, same)
	s.unsaved = slices.DeleteFunc(s.unsaved, same)
}

func (s *shelf) write(p store.Pull) (store.Pull, error) {
	ctx := store.WithWho(context.Background(), "watch")
	db := s.watcher.cfg.Store
	p, err := derive.AsSetUp(ctx, db, p)
	if err != nil {
		return p, err
	}
	return db.SavePull(ctx, p)
}

// retry tries to save what could not be saved, and tells how many pulls still
// could not.
func (s *shelf) retry() int {
	tries := s.unsaved
	s.unsaved = nil
	for _, p := range tries {
		s.store(p, p.Settled)
	}
	return len(s.unsaved)
}

// settleBefore settles first results from before t that were not found again:
// what was found once stays as it was.
func (s *shelf) settleBefore(t int64) {
	for _, p := range slices.Clone(s.open) {
		if p.Found.End < t {
			p.Version = 0
			s.store(p, true)
		}
	}
}
