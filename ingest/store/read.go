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
// the sequence.
//
// The sequence shows one moment of the store, however long it takes and
// whatever is written meanwhile. Until it ends, the store cannot shorten its
// write-ahead log: do not stay in it for longer than the work needs.
func (s *Store) Runs(ctx context.Context, cell, from, to int64) iter.Seq2[Run, error] {
	return func(yield func(Run, error) bool) {
		more := true
		err := s.read(ctx, "read readings", func(tx *sql.Tx) error {
			return eachRow(ctx, tx, func(r row) (bool, error) {
				runs, err := r.decode()
				if err != nil {
					more = yield(Run{}, err)
					return more, nil
				}
				more = yieldWindow(runs, from, to, yield)
				return more, nil
			}, inWindow, cell, from, to)
		})
		if err != nil && more {
			yield(Run{}, err)
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
	err = s.read(ctx, "measure the span of readings", func(tx *sql.Tx) error {
		return tx.QueryRowContext(ctx, ask, cell).Scan(&first, &last, &n)
	})
	return first, last, n, err
}

// lookOver decodes what an earlier daemon wrote last: the tails and the
// latest block of every cell. It notes damage and goes on.
func (s *Store) lookOver(ctx context.Context) error {
	const latest = `
		SELECT 'blocks', id, cell, first_ns, last_ns, n, payload FROM blocks
		WHERE id IN (SELECT max(id) FROM blocks GROUP BY cell)
		UNION ALL
		SELECT 'tails', id, cell, first_ns, last_ns, n, payload FROM tails`
	return s.read(ctx, "look over the latest readings", func(tx *sql.Tx) error {
		return eachRow(ctx, tx, func(r row) (bool, error) {
			var damage *DamageError
			if _, err := r.decode(); errors.As(err, &damage) {
				s.damage = append(s.damage, damage)
			}
			return true, nil
		}, latest)
	})
}
