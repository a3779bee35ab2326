package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math/bits"

	"tautlog/analysis/trace"
	"tautlog/calc/words"
)

// Column is what an outline draws in one column: the extremes of the readings
// from From to To, both included.
type Column struct {
	From, To int64 // times of its first and last reading, ns UTC
	Min, Max int64 // raw
	N        int   // readings in it
}

// perColumn is how many extents of a level a column must hold at least, for
// that level to be fine enough to draw it.
const perColumn = 4

// Outline gives the extremes of a cell's readings for drawing the window from
// from up to, not including, to, in at most that many columns. Columns
// without a reading are left out, and so are readings that the instrument
// called invalid.
//
// Every other reading of the window is in exactly one column, and Min and Max
// are exact for the readings from From to To. A wide window is drawn from
// levels, not from the readings: an extent that lies across the border of two
// columns is counted whole in the column in which it begins. To may then lie
// behind the nominal border, by less than a quarter of a column at a steady
// rate. A narrow window is drawn from the readings themselves and has sharp
// borders.
func (s *Store) Outline(ctx context.Context, cell, from, to int64, columns int) ([]Column, error) {
	if columns < 1 || to <= from {
		return nil, fmt.Errorf("store: draw an outline: %w: window %d to %d in %d columns", ErrInvalid, from, to, columns)
	}
	o := outline{cell: cell, from: from, to: to, columns: make([]extent, columns)}
	err := s.read(ctx, "store: draw an outline", func(tx *sql.Tx) error {
		size, err := o.level(ctx, tx)
		if err != nil {
			return err
		}
		if size == 0 {
			return o.addReadings(ctx, tx, inWindow, from, to)
		}
		if err := o.addReadings(ctx, tx, tailsInWindow, from, to); err != nil {
			return err
		}
		return o.addLevels(ctx, tx, size)
	})
	return o.result(), err
}

// outline is one being drawn.
type outline struct {
	cell, from, to int64
	columns        []extent
}

func (o *outline) result() []Column {
	out := make([]Column, 0, len(o.columns))
	for _, e := range o.columns {
		if e.n > 0 {
			out = append(out, Column{From: e.from, To: e.to, Min: e.min, Max: e.max, N: e.n})
		}
	}
	return out
}

// column finds the column of a time within the window.
func (o *outline) column(at int64) *extent {
	high, low := bits.Mul64(uint64(at)-uint64(o.from), uint64(len(o.columns)))
	i, _ := bits.Div64(high, low, uint64(o.to)-uint64(o.from))
	return &o.columns[i]
}

// level chooses the coarsest level of which enough extents make a column, or
// 0 where none is fine enough.
func (o *outline) level(ctx context.Context, tx *sql.Tx) (int, error) {
	width := (uint64(o.to) - uint64(o.from)) / uint64(len(o.columns))
	for _, size := range []int{coarse, fine} {
		var longest sql.NullInt64
		err := tx.QueryRowContext(ctx, `SELECT max(longest_ns) FROM levels`+levelsInWindow, o.cell, size, o.from, o.to).Scan(&longest)
		if err != nil {
			return 0, err
		}
		if longest.Valid && perColumn*uint64(longest.Int64) <= width {
			return size, nil
		}
	}
	return 0, nil
}

// levelsInWindow chooses the rows of levels of a cell and size that may hold
// readings of a window.
const levelsInWindow = ` WHERE cell = ?1 AND size = ?2 AND first_ns < ?4
	AND first_ns >= coalesce((SELECT max(first_ns) FROM levels WHERE cell = ?1 AND size = ?2 AND first_ns <= ?3), ?3)`

// addReadings adds the readings of a part of the window one by one, from the
// rows that a query finds there.
func (o *outline) addReadings(ctx context.Context, tx *sql.Tx, query string, from, to int64) error {
	return eachRow(ctx, tx, func(r row) (bool, error) {
		runs, err := r.decode()
		for _, run := range runs {
			o.addRun(run.window(from, to))
		}
		return true, err
	}, query, o.cell, from, to)
}

func (o *outline) addRun(r Run) {
	for i, v := range r.Raw {
		if r.Mark(i)&trace.Invalid == 0 {
			at := r.At(i)
			o.column(at).add(at, v)
		}
	}
}

// addLevels adds what is in blocks from one of their levels.
func (o *outline) addLevels(ctx context.Context, tx *sql.Tx, size int) error {
	rows, err := tx.QueryContext(ctx, `SELECT extents FROM levels`+levelsInWindow+` ORDER BY first_ns`, o.cell, size, o.from, o.to)
	if err != nil {
		return err
	}
	defer func() { _ = rows.Close() }() // rows.Err tells whatever matters
	var cut []extent
	var packed sql.RawBytes
	for rows.Next() {
		if err := rows.Scan(&packed); err != nil {
			return err
		}
		if !decodeExtents(packed, func(e extent) { cut = o.addExtent(e, cut) }) {
			return words.Error("store.damaged.malformed", ErrDamaged, o.cell)
		}
	}
	if err := errors.Join(rows.Err(), rows.Close()); err != nil {
		return err
	}
	for _, e := range cut {
		if err := o.addReadings(ctx, tx, inWindow, max(e.from, o.from), min(e.to+1, o.to)); err != nil {
			return err
		}
	}
	return nil
}

// addExtent adds an extent that is wholly in the window, or puts one that is
// partly in it with those whose readings must be looked at.
func (o *outline) addExtent(e extent, cut []extent) []extent {
	switch {
	case e.to < o.from || e.from >= o.to:
	case e.from < o.from || e.to >= o.to:
		return append(cut, e)
	default:
		o.column(e.from).merge(e)
	}
	return cut
}
