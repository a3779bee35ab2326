package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"tautlog/calc/words"
)

// mostTail is how many readings one tail may hold; a longer run is cut.
const mostTail = blockReadings

// Append writes runs in one durable transaction: when it returns nil they
// survive a power cut, and when it returns an error none of them is stored.
// The runs of one cell must be in order of time and must not overlap each
// other or what is stored (ErrOverlap); they may lie before it. Empty runs
// are left out.
func (s *Store) Append(ctx context.Context, runs []Run) error {
	rows, err := tailRows(runs)
	if err != nil {
		return fmt.Errorf("store: append readings: %w", err)
	}
	if len(rows) == 0 {
		return nil
	}
	return s.writeReadings(ctx, "store: append readings", func(tx *sql.Tx) error { return s.append.rows(ctx, tx, rows) })
}

// appender has the statements of Append prepared: they run several times a
// second for as long as a cell is recorded, and to prepare them takes longer
// than to run them.
type appender struct {
	before *sql.Stmt // the end of what is stored up to a time
	insert *sql.Stmt
	behind *sql.Stmt
}

func newAppender(ctx context.Context, db *sql.DB) (a appender, err error) {
	prepare := func(statement string) *sql.Stmt {
		if err != nil {
			return nil
		}
		var s *sql.Stmt
		s, err = db.PrepareContext(ctx, statement)
		return s
	}
	a = appender{before: prepare(readingsBefore), insert: prepare(insertInto(tailsTable)), behind: prepare(behindArchive)}
	return a, err
}

func (a appender) close() (err error) {
	for _, s := range []*sql.Stmt{a.before, a.insert, a.behind} {
		if s != nil {
			err = errors.Join(err, s.Close())
		}
	}
	return err
}

// rows appends rows of tails.
func (a appender) rows(ctx context.Context, tx *sql.Tx, rows []row) error {
	for _, r := range rows {
		if err := a.row(ctx, tx, r); err != nil {
			return err
		}
	}
	return nil
}

// row appends a row of tails.
func (a appender) row(ctx context.Context, tx *sql.Tx, r row) error {
	if err := a.checkFree(ctx, tx, r); err != nil {
		return err
	}
	if _, err := tx.StmtContext(ctx, a.insert).ExecContext(ctx, r.values()...); err != nil {
		return knownCell(ctx, tx, r.cell, err)
	}
	_, err := tx.StmtContext(ctx, a.behind).ExecContext(ctx, r.cell, r.first, r.last)
	return err
}

// tailRows packs the runs of each cell into as few rows as may be.
func tailRows(runs []Run) ([]row, error) {
	waiting := map[int64][]Run{}
	var cells []int64
	for i, r := range runs {
		if err := r.check(); err != nil {
			return nil, fmt.Errorf("run %d: %w", i, err)
		}
		if len(r.Raw) == 0 {
			continue
		}
		mine := waiting[r.Cell]
		if len(mine) == 0 {
			cells = append(cells, r.Cell)
		} else if last := mine[len(mine)-1].Last(); r.Start <= last {
			return nil, words.Error("store.overlap.run", i, clock(r.Start), ErrOverlap)
		}
		waiting[r.Cell] = append(mine, r)
	}
	var rows []row
	for _, cell := range cells {
		for part := range portions(waiting[cell], mostTail) {
			rows = append(rows, newRow(tailsTable, part))
		}
	}
	return rows, nil
}

// portions cuts runs into stretches of at most so many readings.
func portions(runs []Run, most int) func(func([]Run) bool) {
	return func(yield func([]Run) bool) {
		var part []Run
		for _, r := range runs {
			for room := most - countReadings(part); len(r.Raw) > room; room = most {
				if !yield(append(part, r.slice(0, room))) {
					return
				}
				part, r = nil, r.slice(room, len(r.Raw))
			}
			part = append(part, r)
		}
		if countReadings(part) > 0 {
			yield(slices.DeleteFunc(part, func(r Run) bool { return len(r.Raw) == 0 }))
		}
	}
}

// readingsBefore asks for the end of what is stored of cell ?1 from before
// time ?2; ?3 where there is none.
const readingsBefore = `
	SELECT max(
		coalesce((SELECT last_ns FROM tails WHERE cell = ?1 AND first_ns <= ?2 ORDER BY first_ns DESC LIMIT 1), ?3),
		coalesce((SELECT last_ns FROM blocks WHERE cell = ?1 AND first_ns <= ?2 ORDER BY first_ns DESC LIMIT 1), ?3))`

// checkFree makes sure that no stored reading lies in the time of r. Rows do
// not overlap, so only the last one that begins before r's end can reach in.
func (a appender) checkFree(ctx context.Context, tx *sql.Tx, r row) error {
	var last int64
	if err := tx.StmtContext(ctx, a.before).QueryRowContext(ctx, r.cell, r.last, r.first-1).Scan(&last); err != nil {
		return err
	}
	if last >= r.first {
		return words.Error("store.overlap.cell", r.cell, clock(r.first), clock(r.last), ErrOverlap, clock(last))
	}
	return nil
}

// knownCell says, of an insert that failed, whether the cell was to blame.
func knownCell(ctx context.Context, tx *sql.Tx, cell int64, err error) error {
	var known bool
	if ask := tx.QueryRowContext(ctx, `SELECT count(*) > 0 FROM cells WHERE id = ?`, cell).Scan(&known); ask == nil && !known {
		return fmt.Errorf("cell %d: %w", cell, ErrNotFound)
	}
	return err
}
