package store

import (
	"context"
	"database/sql"
	"errors"
	"time"
)

// When tails are folded. A block of so many readings is coded in about 20 to
// 30 KiB, large enough that the database wastes little of its pages on it.
// Where readings come so slowly that tails are tiny, their number decides,
// because each of them is a row to read.
const (
	blockReadings = 1 << 15
	blockTails    = 1 << 13
)

// Fold moves committed tails of a cell into large blocks and returns how many
// blocks it wrote. Each block is one transaction that writes the block and
// its levels and removes the tails, so that at every moment each reading is
// in exactly one place. Tails that do not fill a block yet stay. A damaged
// tail stays too: nothing is removed that was not read.
func (s *Store) Fold(ctx context.Context, cell int64) (int, error) {
	for blocks := 0; ; blocks++ {
		folded := false
		err := s.writeReadings(ctx, "store: fold readings", func(tx *sql.Tx) (err error) {
			folded, err = s.foldOne(ctx, tx, cell)
			return err
		})
		if err != nil || !folded {
			return blocks, err
		}
	}
}

// foldOne writes the next block, if there is enough for one.
func (s *Store) foldOne(ctx context.Context, tx *sql.Tx, cell int64) (bool, error) {
	full, err := s.enough(ctx, tx, cell)
	if err != nil || !full {
		return false, err
	}
	g, err := s.gather(ctx, tx, cell)
	if err != nil || !g.full {
		return false, err
	}
	runs := joinRuns(g.runs)
	if err := newRow(blocksTable, runs).insert(ctx, tx); err != nil {
		return false, err
	}
	if err := insertLevels(ctx, tx, runs); err != nil {
		return false, err
	}
	_, err = tx.ExecContext(ctx, `DELETE FROM tails WHERE cell = ? AND first_ns BETWEEN ? AND ?`, cell, g.first, g.last)
	return true, err
}

// enough tells cheaply whether the tails may fill a block.
func (s *Store) enough(ctx context.Context, tx *sql.Tx, cell int64) (bool, error) {
	var tails, readings int
	const ask = `SELECT count(*), coalesce(sum(n), 0) FROM tails WHERE cell = ?`
	err := tx.QueryRowContext(ctx, ask, cell).Scan(&tails, &readings)
	return readings >= s.options.foldReadings || tails >= s.options.foldTails, err
}

// longestPause is the longest pause in a block, in ns: what lies in the time of
// a block cannot be added any more, and a pause may yet be filled by readings
// that are brought in later.
const longestPause = int64(time.Hour)

// gathering is a row of tails with nothing else between them in time.
type gathering struct {
	runs        []Run
	first, last int64 // of the first and the last tail: where they begin
	end         int64 // time of the last reading
	tails, n    int
	full        bool
}

// gather reads tails in order of time until they fill a block. What lies
// between two tails in time, a block, a damaged tail or a long pause, ends a gathering: it
// is then full whatever its size, since nothing can be added to it.
func (s *Store) gather(ctx context.Context, tx *sql.Tx, cell int64) (g gathering, err error) {
	barriers, err := s.barriers(ctx, tx, cell)
	if err != nil {
		return g, err
	}
	err = eachRow(ctx, tx, func(r row) (bool, error) {
		runs, err := r.decode()
		var damage *DamageError
		if errors.As(err, &damage) {
			g.full = g.tails > 0
			return !g.full, nil
		}
		if g.tails > 0 && (barriers.between(g.last, r.first) || r.first-g.end > longestPause) {
			g.full = true
			return false, nil
		}
		g.add(r, runs)
		g.full = g.n >= s.options.foldReadings || g.tails >= s.options.foldTails
		return !g.full, err
	}, onlyTails, cell)
	return g, err
}

func (g *gathering) add(r row, runs []Run) {
	if g.tails == 0 {
		g.first = r.first
	}
	g.runs = append(g.runs, runs...)
	g.last, g.end = r.first, r.last
	g.tails++
	g.n += r.n
}

// barriers are the times at which blocks begin, in order.
type barriers []int64

// barriers gives those among the tails of a cell. There are some only where
// readings older than stored ones were added.
func (s *Store) barriers(ctx context.Context, tx *sql.Tx, cell int64) (out barriers, err error) {
	const ask = `SELECT first_ns FROM blocks WHERE cell = ?1 AND first_ns BETWEEN
		(SELECT min(first_ns) FROM tails WHERE cell = ?1) AND (SELECT max(first_ns) FROM tails WHERE cell = ?1)
		ORDER BY first_ns`
	rows, err := tx.QueryContext(ctx, ask, cell)
	if err != nil {
		return nil, err
	}
	defer func() { _ = rows.Close() }() // rows.Err tells whatever matters
	for rows.Next() {
		var at int64
		if err := rows.Scan(&at); err != nil {
			return nil, err
		}
		out = append(out, at)
	}
	return out, rows.Err()
}

func (b barriers) between(from, to int64) bool {
	for _, at := range b {
		if from < at && at < to {
			return true
		}
	}
	return false
}

// insertLevels writes the extents of a block's readings.
func insertLevels(ctx context.Context, tx *sql.Tx, runs []Run) error {
	for _, size := range []int{coarse, fine} {
		const insert = `INSERT INTO levels (cell, size, first_ns, longest_ns, extents) VALUES (?, ?, ?, ?, ?)`
		es := extents(runs, size)
		if _, err := tx.ExecContext(ctx, insert, runs[0].Cell, size, runs[0].Start, longest(es), encodeExtents(es)); err != nil {
			return err
		}
	}
	return nil
}
