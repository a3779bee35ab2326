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
	What          string          // cell, vehicle, item, rig, day, setup, pull, set, choice, plan
	Ref           int64           // ID of what was changed
	Before, After json.RawMessage // Before is nil where something new was made
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

// Journal gives changes, the latest first. An empty what and a ref of 0
// choose everything; limit 0 means all.
func (s *Store) Journal(ctx context.Context, what string, ref int64, limit int) (out []Change, err error) {
	const ask = `SELECT id, at, who, what, ref, before, after FROM journal
		WHERE (?1 = '' OR what = ?1) AND (?2 = 0 OR ref = ?2) ORDER BY id DESC LIMIT ?3`
	err = s.query(ctx, "read the journal", func(row scan) error {
		var c Change
		var at int64
		var before, after sql.NullString
		if err := row(&c.ID, &at, &c.Who, &c.What, &c.Ref, &before, &after); err != nil {
			return err
		}
		c.At = time.Unix(0, at).UTC()
		if before.Valid {
			c.Before = json.RawMessage(before.String)
		}
		c.After = json.RawMessage(after.String)
		out = append(out, c)
		return nil
	}, ask, what, ref, orAll(limit))
	return out, err
}

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
