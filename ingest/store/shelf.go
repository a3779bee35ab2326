package store

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"
)

// Document is something that people edit, with what the store knows of it.
//
// Saving follows one rule everywhere. A zero ID finds the row by its name
// (items by their own ID, days by date and name); another ID finds it by that
// and allows a new name. A zero Version writes over whatever is there, or
// makes it; any other is refused with ErrConflict unless the row still has
// that version, so that two people who edit the same thing lose nothing.
// Saving what is there already changes nothing.
type Document[T any] struct {
	ID      int64
	Version int64
	Updated time.Time
	Value   T
}

// shelf is a table of documents of one type, each with a key of its own.
type shelf[T any] struct {
	table, what string
	key         func(T) string
}

// save writes a document and its line in the journal.
func (h shelf[T]) save(ctx context.Context, s *Store, d Document[T]) (Document[T], error) {
	op := "save " + h.what
	key := strings.TrimSpace(h.key(d.Value))
	if key == "" {
		return d, fmt.Errorf("store: %s: %w: it has no name", op, ErrInvalid)
	}
	doc, err := encodeDocument(d.Value)
	if err != nil {
		return d, fmt.Errorf("store: %s %q: %w", op, key, err)
	}
	saved := d
	err = s.write(ctx, fmt.Sprintf("%s %q", op, key), func(tx *sql.Tx) error {
		old, err := h.find(ctx, tx, d.ID, key)
		if err != nil {
			return err
		}
		saved, err = h.put(ctx, s, tx, d, old, key, doc)
		return err
	})
	if err != nil {
		return d, err
	}
	return saved, nil
}

// encodeDocument writes a value as JSON. It refuses one that could not be
// read back, because that would hide all others of its table.
func encodeDocument[T any](v T) ([]byte, error) {
	doc, err := json.Marshal(v)
	if err == nil {
		var again T
		err = json.Unmarshal(doc, &again)
	}
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrInvalid, err)
	}
	return doc, nil
}

// stored is a row of a shelf as it is.
type stored struct {
	id, version, updated int64
	key                  string
	doc                  []byte
}

// find gives the row that a save is about, with an id of 0 where there is
// none yet.
func (h shelf[T]) find(ctx context.Context, tx *sql.Tx, id int64, key string) (old stored, err error) {
	ask, arg := `SELECT id, version, updated, key, doc FROM `+h.table+` WHERE key = ?`, any(key)
	if id != 0 {
		ask, arg = `SELECT id, version, updated, key, doc FROM `+h.table+` WHERE id = ?`, any(id)
	}
	err = tx.QueryRowContext(ctx, ask, arg).Scan(&old.id, &old.version, &old.updated, &old.key, &old.doc)
	if errors.Is(err, sql.ErrNoRows) && id == 0 {
		return stored{}, nil
	}
	return old, err
}

func (h shelf[T]) put(ctx context.Context, s *Store, tx *sql.Tx, d Document[T], old stored, key string, doc []byte) (Document[T], error) {
	now := s.options.Now().UTC()
	d.Updated = now
	switch {
	case d.Version != 0 && d.Version != old.version:
		return d, fmt.Errorf("%w: it is at version %d, the change was made to version %d", ErrConflict, old.version, d.Version)
	case old.id != 0 && old.key == key && bytes.Equal(old.doc, doc):
		d.ID, d.Version, d.Updated = old.id, old.version, time.Unix(0, old.updated).UTC()
		return d, nil
	case old.id == 0:
		insert := `INSERT INTO ` + h.table + ` (key, version, updated, doc) VALUES (?, 1, ?, ?)`
		made, err := tx.ExecContext(ctx, insert, key, now.UnixNano(), string(doc))
		if err != nil {
			return d, err
		}
		d.ID, err = made.LastInsertId()
		if err != nil {
			return d, err
		}
		d.Version = 1
		if err := adopt(ctx, tx, h.table, d.ID, key); err != nil {
			return d, err
		}
	default:
		if err := h.checkKey(ctx, tx, old.id, key); err != nil {
			return d, err
		}
		d.ID, d.Version = old.id, old.version+1
		update := `UPDATE ` + h.table + ` SET key = ?, version = ?, updated = ?, doc = ? WHERE id = ?`
		if _, err := tx.ExecContext(ctx, update, key, d.Version, now.UnixNano(), string(doc), d.ID); err != nil {
			return d, err
		}
		if err := adopt(ctx, tx, h.table, d.ID, key); err != nil {
			return d, err
		}
	}
	return d, s.enter(ctx, tx, now, h.what, d.ID, old.doc, doc)
}

// checkKey refuses a name that another row has.
func (h shelf[T]) checkKey(ctx context.Context, tx *sql.Tx, id int64, key string) error {
	var taken bool
	err := tx.QueryRowContext(ctx, `SELECT count(*) > 0 FROM `+h.table+` WHERE key = ? AND id <> ?`, key, id).Scan(&taken)
	if err == nil && taken {
		return fmt.Errorf("%w: another %s has this name", ErrConflict, h.what)
	}
	return err
}

// list gives the documents that a condition chooses, in the order given.
func (h shelf[T]) list(ctx context.Context, s *Store, condition string, args ...any) (out []Document[T], err error) {
	err = s.query(ctx, "read "+h.table, func(row scan) error {
		var d Document[T]
		var updated int64
		var doc []byte
		if err := row(&d.ID, &d.Version, &updated, &doc); err != nil {
			return err
		}
		if err := json.Unmarshal(doc, &d.Value); err != nil {
			return fmt.Errorf("%w: %s %d: %w", ErrDamaged, h.what, d.ID, err)
		}
		d.Updated = time.Unix(0, updated).UTC()
		out = append(out, d)
		return nil
	}, `SELECT id, version, updated, doc FROM `+h.table+` `+condition, args...)
	return out, err
}

// one gives the document that a condition chooses, or ErrNotFound.
func (h shelf[T]) one(ctx context.Context, s *Store, condition string, arg any) (Document[T], error) {
	all, err := h.list(ctx, s, condition, arg)
	if err != nil {
		return Document[T]{}, err
	}
	if len(all) == 0 {
		return Document[T]{}, fmt.Errorf("store: %s %v: %w", h.what, arg, ErrNotFound)
	}
	return all[0], nil
}
