package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"time"
)

// JournalFilter chooses changes. Zero fields choose everything.
type JournalFilter struct {
	What   string // see Change; needed with Ref
	Ref    int64
	Before int64 // the ID of a change: only older ones
	Limit  int
}

// Choices are of one thing, whatever set they name.
const changeColumns = `SELECT id, at, who, what, ref, before, after, id = CASE what
	WHEN 'choice' THEN (SELECT max(id) FROM journal WHERE what = 'choice')
	ELSE (SELECT max(id) FROM journal n WHERE n.what = journal.what AND n.ref = journal.ref) END FROM journal `

func readChange(row scan) (c Change, err error) {
	var at int64
	var before, after sql.NullString
	if err := row(&c.ID, &at, &c.Who, &c.What, &c.Ref, &before, &after, &c.Latest); err != nil {
		return c, err
	}
	c.At, c.Before, c.After = time.Unix(0, at).UTC(), raw(before), raw(after)
	return c, nil
}

func raw(s sql.NullString) json.RawMessage {
	if !s.Valid {
		return nil
	}
	return json.RawMessage(s.String)
}

// Changes gives the changes that a filter chooses, the latest first, along an
// index.
func (s *Store) Changes(ctx context.Context, f JournalFilter) (out []Change, err error) {
	var c conditions
	if f.What != "" {
		c.add(`what = ?`, f.What)
	}
	if f.Ref != 0 {
		c.add(`ref = ?`, f.Ref)
	}
	if f.Before != 0 {
		c.add(`id < ?`, f.Before)
	}
	err = s.query(ctx, "store: read the journal", func(row scan) error {
		c, err := readChange(row)
		out = append(out, c)
		return err
	}, changeColumns+c.where()+` ORDER BY id DESC LIMIT ?`, append(c.args, orAll(f.Limit))...)
	return out, err
}

// Journal is Changes without pages: an empty what and a ref of 0 choose
// everything; limit 0 means all.
func (s *Store) Journal(ctx context.Context, what string, ref int64, limit int) ([]Change, error) {
	return s.Changes(ctx, JournalFilter{What: what, Ref: ref, Limit: limit})
}

// FirstChange is the change that the store began with; none, and no error,
// where nothing was ever entered.
func (s *Store) FirstChange(ctx context.Context) (c Change, err error) {
	err = s.query(ctx, "store: read the journal", func(row scan) error {
		c, err = readChange(row)
		return err
	}, changeColumns+` ORDER BY id LIMIT 1`)
	return c, err
}
