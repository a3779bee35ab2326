package store

import (
	"context"
	"database/sql"
	"tautlog/calc/words"
)

// Readings lie in two tables of the same shape, each row with a payload.
const (
	tailsTable  = "tails"
	blocksTable = "blocks"
)

// row is a row of either.
type row struct {
	table       string
	id, cell    int64
	first, last int64
	n           int
	payload     []byte
}

// decode unpacks the payload and checks it against the other fields. What is
// wrong with it is a *DamageError.
func (r row) decode() ([]Run, error) {
	var room []int64
	return r.decodeInto(&room)
}

// decodeInto is decode with the readings in room, which grows where it is too
// small.
func (r row) decodeInto(room *[]int64) ([]Run, error) {
	runs, err := decodePayload(r.cell, r.payload, room)
	if err == nil {
		err = r.agrees(runs)
	}
	if err != nil {
		return nil, r.damaged(err)
	}
	return runs, nil
}

func (r row) damaged(reason error) *DamageError {
	return &DamageError{Block: r.id, Tail: r.table == tailsTable, Cell: r.cell, From: r.first, To: r.last, Readings: r.n, Reason: reason}
}

func (r row) agrees(runs []Run) error {
	if n := countReadings(runs); n != r.n || n == 0 {
		return words.Error("store.payload.readings", n)
	}
	if runs[0].Start != r.first || runs[len(runs)-1].Last() != r.last {
		return words.Error("store.payload.time")
	}
	for i, run := range runs[1:] {
		if run.Start <= runs[i].Last() {
			return words.Error("store.payload.order")
		}
	}
	return nil
}

// newRow packs runs of one cell, in order of time, for a table.
func newRow(table string, runs []Run) row {
	return row{
		table: table, cell: runs[0].Cell, first: runs[0].Start, last: runs[len(runs)-1].Last(),
		n: countReadings(runs), payload: encodePayload(runs),
	}
}

func (r row) insert(ctx context.Context, tx *sql.Tx) error {
	_, err := tx.ExecContext(ctx, insertInto(r.table), r.values()...)
	return err
}

// insertInto is the statement that inserts the values of a row.
func insertInto(table string) string {
	return `INSERT INTO ` + table + ` (cell, first_ns, last_ns, n, payload) VALUES (?, ?, ?, ?, ?)`
}

func (r row) values() []any { return []any{r.cell, r.first, r.last, r.n, r.payload} }

// These ask for the rows that hold readings of a cell from one time up to
// another, in order of time. Rows never overlap, so that the last one to
// begin before the window is the only one of those that may reach into it.
const (
	inWindow      = blocksPart + ` UNION ALL ` + tailsPart + ` ORDER BY first_ns`
	tailsInWindow = tailsPart + ` ORDER BY first_ns`

	blocksPart = `
	SELECT 'blocks', id, cell, first_ns, last_ns, n, payload FROM blocks
	WHERE cell = ?1 AND last_ns >= ?2 AND first_ns < ?3
		AND first_ns >= coalesce((SELECT max(first_ns) FROM blocks WHERE cell = ?1 AND first_ns <= ?2), ?2)`
	tailsPart = `
	SELECT 'tails', id, cell, first_ns, last_ns, n, payload FROM tails
	WHERE cell = ?1 AND last_ns >= ?2 AND first_ns < ?3
		AND first_ns >= coalesce((SELECT max(first_ns) FROM tails WHERE cell = ?1 AND first_ns <= ?2), ?2)`
)

// onlyTails asks for the tails of a cell in order of time.
const onlyTails = `SELECT 'tails', id, cell, first_ns, last_ns, n, payload FROM tails WHERE cell = ? ORDER BY first_ns`

// eachRow gives the rows of a query to use, one at a time, until it returns
// false or an error. The payload is valid only until use returns.
func eachRow(ctx context.Context, tx *sql.Tx, use func(row) (bool, error), query string, args ...any) error {
	rows, err := tx.QueryContext(ctx, query, args...)
	if err != nil {
		return err
	}
	defer func() { _ = rows.Close() }() // rows.Err tells whatever matters
	var table, payload sql.RawBytes
	for rows.Next() {
		var r row
		if err := rows.Scan(&table, &r.id, &r.cell, &r.first, &r.last, &r.n, &payload); err != nil {
			return err
		}
		r.table, r.payload = string(table), payload
		if more, err := use(r); err != nil || !more {
			return err
		}
	}
	return rows.Err()
}
