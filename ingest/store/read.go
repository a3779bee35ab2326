package store

import (
	"context"
	"database/sql"
	"errors"
	"iter"
)

// Runs gives the readings of a cell from time from up to, not including, to,
// in time order. A damaged block is yielded as a *DamageError in its place: a
// caller that goes on ranging after it asks to skip it. Any other error ends
// the sequence. The readings and marks of a run are valid only until the next
// step of the sequence, which takes up their memory: copy what is to be kept.
//
// The sequence shows one moment of the store, however long it takes and
// whatever is written meanwhile. Until it ends, the store cannot shorten its
// write-ahead log: do not stay in it for longer than the work needs.
func (s *Store) Runs(ctx context.Context, cell, from, to int64) iter.Seq2[Run, error] {
	return func(yield func(Run, error) bool) {
		more := true
		err := s.read(ctx, "store: read readings", func(tx *sql.Tx) error {
			return eachDecoded(ctx, tx, func(runs []Run, err error) bool {
				if err != nil {
					more = yield(Run{}, err)
				} else {
					more = yieldWindow(runs, from, to, yield)
				}
				return more
			}, inWindow, cell, from, to)
		})
		if err != nil && more {
			yield(Run{}, err)
		}
	}
}

// IntactRuns is Runs without what is damaged: that is a gap in the sequence, and
// told to damaged, in its place; damaged may be nil. Any error ends it.
func (s *Store) IntactRuns(ctx context.Context, cell, from, to int64, damaged func(*DamageError)) iter.Seq2[Run, error] {
	return func(yield func(Run, error) bool) {
		for run, err := range s.Runs(ctx, cell, from, to) {
			if damage, ok := errors.AsType[*DamageError](err); ok {
				if damaged != nil {
					damaged(damage)
				}
				continue
			}
			if !yield(run, err) {
				return
			}
		}
	}
}

func yieldWindow(runs []Run, from, to int64, yield func(Run, error) bool) bool {
	for _, r := range runs {
		r = r.window(from, to)
		if len(r.Raw) > 0 && !yield(r, nil) {
			return false
		}
	}
	return true
}

// Span tells when a cell's first and last stored readings were taken, and how
// many there are. With n of 0 there are none.
func (s *Store) Span(ctx context.Context, cell int64) (first, last int64, n int64, err error) {
	const ask = `SELECT coalesce(min(first_ns), 0), coalesce(max(last_ns), 0), coalesce(sum(n), 0) FROM (
		SELECT first_ns, last_ns, n FROM blocks WHERE cell = ?1 UNION ALL
		SELECT first_ns, last_ns, n FROM tails WHERE cell = ?1)`
	err = s.read(ctx, "store: measure the span of readings", func(tx *sql.Tx) error {
		return tx.QueryRowContext(ctx, ask, cell).Scan(&first, &last, &n)
	})
	return first, last, n, err
}

// Count is how many readings of a cell there are from time from up to, not
// including, to, and when the first of them was taken. What lies in damaged
// rows across a border is left out.
func (s *Store) Count(ctx context.Context, cell, from, to int64) (n int, first int64, err error) {
	const inside = `SELECT coalesce(sum(n), 0), min(first_ns) FROM (
		SELECT n, first_ns FROM blocks WHERE cell = ?1 AND first_ns >= ?2 AND first_ns < ?3 AND last_ns < ?3 UNION ALL
		SELECT n, first_ns FROM tails WHERE cell = ?1 AND first_ns >= ?2 AND first_ns < ?3 AND last_ns < ?3)`
	const across = `SELECT * FROM (` + blocksPart + ` UNION ALL ` + tailsPart + `) WHERE first_ns < ?2 OR last_ns >= ?3`
	err = s.read(ctx, "store: count readings", func(tx *sql.Tx) error {
		var earliest sql.NullInt64
		if err := tx.QueryRowContext(ctx, inside, cell, from, to).Scan(&n, &earliest); err != nil {
			return err
		}
		first = earliest.Int64
		return eachRow(ctx, tx, func(r row) (bool, error) {
			runs, err := r.decode()
			if err != nil {
				return true, nil
			}
			yieldWindow(runs, from, to, func(r Run, _ error) bool {
				if n == 0 || r.Start < first {
					first = r.Start
				}
				n += len(r.Raw)
				return true
			})
			return true, nil
		}, across, cell, from, to)
	})
	return n, first, err
}

// lookOver decodes what an earlier daemon wrote last: the tails and the
// latest block of every cell. It notes damage and goes on.
func (s *Store) lookOver(ctx context.Context) error {
	const latest = `
		SELECT 'blocks', id, cell, first_ns, last_ns, n, payload FROM blocks
		WHERE id IN (SELECT max(id) FROM blocks GROUP BY cell)
		UNION ALL
		SELECT 'tails', id, cell, first_ns, last_ns, n, payload FROM tails`
	return s.read(ctx, "store: look over the latest readings", func(tx *sql.Tx) error {
		return eachRow(ctx, tx, func(r row) (bool, error) {
			var damage *DamageError
			if _, err := r.decode(); errors.As(err, &damage) {
				s.damage = append(s.damage, damage)
			}
			return true, nil
		}, latest)
	})
}
