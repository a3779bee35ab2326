package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"time"
)

// Change is one line of the journal: who changed what when.
type Change struct {
	ID            int64
	At            time.Time
	Who           string
	What          string          // cell, vehicle, item, rig, day, setup, pull, set, choice, plan, calibration, zero, check, draft
	Ref           int64           // ID of what was changed
	Before, After json.RawMessage // Before is nil where something new was made or brought back, After where it was removed
	Latest        bool            // no later change is of the same; see Undo
}

type whoKey struct{}

// WithWho gives a context whose saves are entered in the journal under that
// name.
func WithWho(ctx context.Context, who string) context.Context {
	return context.WithValue(ctx, whoKey{}, who)
}

func (s *Store) who(ctx context.Context) string {
	if who, ok := ctx.Value(whoKey{}).(string); ok && who != "" {
		return who
	}
	return s.options.Who
}

// enter writes a change into the journal, in the transaction that makes it.
func (s *Store) enter(ctx context.Context, tx *sql.Tx, at time.Time, what string, ref int64, before, after []byte) error {
	_, err := tx.ExecContext(ctx, `INSERT INTO journal (at, who, what, ref, before, after) VALUES (?, ?, ?, ?, ?, ?)`,
		at.UnixNano(), s.who(ctx), what, ref, text(before), text(after))
	return err
}

// text makes a text column of a document, NULL of none.
func text(doc []byte) sql.NullString { return sql.NullString{String: string(doc), Valid: doc != nil} }

// orAll makes a limit of 0 mean none, as the database has it.
func orAll(limit int) int {
	if limit <= 0 {
		return -1
	}
	return limit
}

// scan reads the columns of a row.
type scan func(...any) error

// query gives each row of a query to use.
func (s *Store) query(ctx context.Context, op string, use func(scan) error, query string, args ...any) error {
	return s.read(ctx, op, func(tx *sql.Tx) error { return eachIn(ctx, tx, use, query, args...) })
}

// eachIn gives each row of a query in a transaction to use.
func eachIn(ctx context.Context, tx *sql.Tx, use func(scan) error, query string, args ...any) error {
	rows, err := tx.QueryContext(ctx, query, args...)
	if err != nil {
		return err
	}
	defer func() { _ = rows.Close() }() // rows.Err tells whatever matters
	for rows.Next() {
		if err := use(rows.Scan); err != nil {
			return err
		}
	}
	return rows.Err()
}
