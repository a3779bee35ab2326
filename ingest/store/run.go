package store

import (
	"context"
	"iter"

	"tautlog/analysis/trace"
)

// Run is a stretch of readings of one cell on an even time grid: reading i
// was taken at Start + i·Step, rounded to a nanosecond. Use At for the times.
type Run struct {
	Cell  int64
	Start int64   // time of the first reading, ns UTC
	Step  float64 // ns from one reading to the next, at least 1
	Raw   []int64
	Marks []trace.Mark // nil: all ordinary; else as long as Raw
}

// At is the time of reading i, ns UTC.
func (r Run) At(i int) int64 { return 0 }

// Append writes runs in one durable transaction: when it returns nil they
// survive a power cut, and when it returns an error none of them is stored.
func (s *Store) Append(ctx context.Context, runs []Run) error { return nil }

// Fold moves the small committed tails of a cell into large blocks, each in
// one transaction, and returns how many blocks it wrote.
func (s *Store) Fold(ctx context.Context, cell int64) (int, error) { return 0, nil }

// Runs gives the readings of a cell from time from up to, not including, to,
// in time order. A damaged block is yielded as a *DamageError in its place: a
// caller that goes on ranging after it asks to skip it.
func (s *Store) Runs(ctx context.Context, cell, from, to int64) iter.Seq2[Run, error] {
	return func(func(Run, error) bool) {}
}

// Span tells when a cell's first and last stored readings were taken, and how
// many there are. With n of 0 there are none.
func (s *Store) Span(ctx context.Context, cell int64) (first, last int64, n int64, err error) {
	return 0, 0, 0, nil
}

// Column is what an outline draws in one column: the extremes of the readings
// from From to To, both included.
type Column struct {
	From, To int64 // times of its first and last reading, ns UTC
	Min, Max int64 // raw
	N        int   // readings in it
}

// Outline gives the extremes of a cell's readings for drawing the window from
// from up to, not including, to, in at most that many columns. Columns
// without a reading are left out.
func (s *Store) Outline(ctx context.Context, cell, from, to int64, columns int) ([]Column, error) {
	return nil, nil
}
