package record

import (
	"time"

	"tautlog/analysis/trace"
	"tautlog/ingest/store"
	"tautlog/ingest/wire"
)

// buffer holds the readings of one cell that are not on disk yet.
type buffer struct {
	runs   []store.Run
	n      int
	oldest time.Time // arrival of the oldest
}

func (b *buffer) empty() bool { return b.n == 0 }

// add takes a reading.
func (b *buffer) add(cell int64, s stamp, r wire.Reading, at time.Time) {
	if b.n == 0 {
		b.oldest = at
	}
	if s.fresh || b.n == 0 {
		b.runs = append(b.runs, store.Run{Cell: cell, Start: s.t, Step: float64(s.step), Raw: make([]int64, 0, 64)})
	}
	run := &b.runs[len(b.runs)-1]
	run.Raw = append(run.Raw, r.Raw)
	run.Marks = addMark(run.Marks, len(run.Raw), r.Mark)
	b.n++
}

// take gives everything away.
func (b *buffer) take() []store.Run {
	runs := b.runs
	*b = buffer{}
	return runs
}

// addMark appends the mark of the n-th reading; marks stay nil as long as all
// readings are ordinary.
func addMark(marks []trace.Mark, n int, m trace.Mark) []trace.Mark {
	if marks == nil && m == 0 {
		return nil
	}
	for len(marks) < n-1 {
		marks = append(marks, 0)
	}
	return append(marks, m)
}

// newReadings makes an empty batch with room for n.
func newReadings(n int) *Readings {
	return &Readings{Batch: trace.Batch{T: make([]int64, 0, n), F: make([]float64, 0, n)}, Raw: make([]int64, 0, n)}
}

// add appends a reading with its time and force.
func (b *Readings) add(t int64, f float64, r wire.Reading) {
	b.T = append(b.T, t)
	b.F = append(b.F, f)
	b.Raw = append(b.Raw, r.Raw)
	b.Marks = addMark(b.Marks, len(b.T), r.Mark)
}

// held is a list of runs that the disk has not taken yet, the oldest first,
// bounded in its number of readings.
type held struct {
	runs []store.Run
	n    int
}

// add appends runs.
func (h *held) add(runs []store.Run) {
	for _, r := range runs {
		h.n += len(r.Raw)
	}
	h.runs = append(h.runs, runs...)
}

// first is as many of the oldest runs as hold about most readings, at least
// one run.
func (h *held) first(most int) []store.Run {
	n := 0
	for i, r := range h.runs {
		if n += len(r.Raw); n > most && i > 0 {
			return h.runs[:i]
		}
	}
	return h.runs
}

// drop forgets the k oldest runs.
func (h *held) drop(k int) {
	for _, r := range h.runs[:k] {
		h.n -= len(r.Raw)
	}
	clear(h.runs[:k])
	h.runs = h.runs[k:]
	if len(h.runs) == 0 {
		h.runs = nil
	}
}
