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

	"tautlog/calc/words"
)

// Document is something that people edit, with what the store knows of it.
//
// Saving follows one rule everywhere. A zero ID finds the row by its name
// (items by their own ID, days by date and name); another ID finds it by that
// and allows a new name. A zero Version writes over whatever is there, or
// makes it; New only makes it; any other is refused with ErrConflict unless the row still has
// that version, so that two people who edit the same thing lose nothing.
// Saving what is there already changes nothing.
type Document[T any] struct {
	ID      int64
	Version int64
	Updated time.Time
	Removed time.Time // when it was removed from its list; zero: it was not
	Value   T
}

// shelf is a table of documents of one type, each with a key of its own.
type shelf[T any] struct {
	table, what string
	key         func(T) string
	check       func(context.Context, *sql.Tx, T) error // nil: nothing to check beside what is in it
}

func (h shelf[T]) where() string { return h.table }

// keyOf is the key of a stored document.
func (h shelf[T]) keyOf(doc []byte) (string, error) {
	var v T
	if err := json.Unmarshal(doc, &v); err != nil {
		return "", fmt.Errorf("%w: %w", ErrDamaged, err)
	}
	return strings.TrimSpace(h.key(v)), nil
}

// save writes a document and its line in the journal.
func (h shelf[T]) save(ctx context.Context, s *Store, d Document[T]) (Document[T], error) {
	saved := d
	err := s.write(ctx, fmt.Sprintf("store: save %s %q", h.what, strings.TrimSpace(h.key(d.Value))), func(tx *sql.Tx) (err error) {
		saved, err = h.saveIn(ctx, s, tx, d)
		return err
	})
	if err != nil {
		return d, err
	}
	return saved, nil
}

func (h shelf[T]) saveIn(ctx context.Context, s *Store, tx *sql.Tx, d Document[T]) (Document[T], error) {
	key := strings.TrimSpace(h.key(d.Value))
	if key == "" {
		return d, refuse(ErrInvalid, words.Error("store.noname"))
	}
	doc, err := encodeDocument(d.Value)
	if err != nil {
		return d, err
	}
	old, err := h.find(ctx, tx, d.ID, key)
	if err != nil {
		return d, err
	}
	if h.check != nil {
		if err := h.check(ctx, tx, d.Value); err != nil {
			return d, err
		}
	}
	return h.put(ctx, s, tx, d, old, key, doc)
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
		return nil, refuse(ErrInvalid, err)
	}
	return doc, nil
}

// again is a document as it would be written today: an earlier program may have
// spelled a quantity otherwise, which is no change. One that cannot be read is
// left as it is.
func again[T any](doc []byte) []byte {
	var v T
	if json.Unmarshal(doc, &v) != nil {
		return doc
	}
	now, err := json.Marshal(v)
	if err != nil {
		return doc
	}
	return now
}

// stored is a row of a shelf as it is.
type stored struct {
	id, version, updated int64
	removed              int64 // when it was removed; 0: it was not
	key                  string
	doc                  []byte
}

func readStored(ctx context.Context, tx *sql.Tx, table, condition string, arg any) (old stored, err error) {
	ask := `SELECT id, version, updated, coalesce(removed, 0), key, doc FROM ` + table + ` ` + condition
	err = tx.QueryRowContext(ctx, ask, arg).Scan(&old.id, &old.version, &old.updated, &old.removed, &old.key, &old.doc)
	return old, err
}

// find gives the row that a save is about, with an id of 0 where there is
// none yet.
func (h shelf[T]) find(ctx context.Context, tx *sql.Tx, id int64, key string) (stored, error) {
	if id != 0 {
		return readStored(ctx, tx, h.table, whereID, id)
	}
	old, err := readStored(ctx, tx, h.table, whereKey, key)
	if errors.Is(err, sql.ErrNoRows) {
		return stored{}, nil
	}
	return old, err
}

// put writes over a row, or a new one.
func (h shelf[T]) put(ctx context.Context, s *Store, tx *sql.Tx, d Document[T], old stored, key string, doc []byte) (Document[T], error) {
	now := s.options.Now().UTC()
	was := again[T](old.doc)
	switch {
	case old.removed != 0:
		return d, refuse(ErrConflict, words.Error("store.removed"))
	case d.Version == New && old.id != 0:
		return d, refuse(ErrConflict, words.Error("store.samename", thing(h.what)))
	case d.Version > 0 && d.Version != old.version:
		return d, conflict(old.version, d.Version)
	case old.id != 0 && old.key == key && bytes.Equal(was, doc):
		d.ID, d.Version, d.Updated = old.id, old.version, time.Unix(0, old.updated).UTC()
		return d, nil
	}
	if err := checkKey(ctx, tx, h.table, h.what, old.id, key); err != nil {
		return d, err
	}
	d.Version, d.Updated = old.version+1, now
	write := `INSERT INTO ` + h.table + ` (key, version, updated, doc) VALUES (?1, ?2, ?3, ?4) RETURNING id`
	if old.id != 0 {
		write = `UPDATE ` + h.table + ` SET key = ?1, version = ?2, updated = ?3, doc = ?4 WHERE id = ?5 RETURNING id`
	}
	if err := tx.QueryRowContext(ctx, write, key, d.Version, now.UnixNano(), string(doc), old.id).Scan(&d.ID); err != nil {
		return d, err
	}
	if err := errors.Join(adopt(ctx, tx, h.table, d.ID, key), writeWords(ctx, tx, h.table, d.ID, doc)); err != nil {
		return d, err
	}
	return d, s.enter(ctx, tx, now, h.what, d.ID, was, doc)
}

// checkKey refuses a name that another row has.
func checkKey(ctx context.Context, tx *sql.Tx, table, what string, id int64, key string) error {
	var taken bool
	err := tx.QueryRowContext(ctx, `SELECT count(*) > 0 FROM `+table+` WHERE key = ? AND id <> ?`, key, id).Scan(&taken)
	if err == nil && taken {
		return refuse(ErrConflict, words.Error("store.samename", thing(what)))
	}
	return err
}

// list gives the documents that a condition chooses, in the order given.
func (h shelf[T]) list(ctx context.Context, s *Store, condition string, args ...any) (out []Document[T], err error) {
	err = s.query(ctx, "store: read "+h.table, func(row scan) error {
		var d Document[T]
		var updated, removed int64
		var doc []byte
		if err := row(&d.ID, &d.Version, &updated, &removed, &doc); err != nil {
			return err
		}
		if err := json.Unmarshal(doc, &d.Value); err != nil {
			return words.Error("store.damaged.document", ErrDamaged, thing(h.what), d.ID, err)
		}
		d.Updated, d.Removed = time.Unix(0, updated).UTC(), removedAt(removed)
		out = append(out, d)
		return nil
	}, `SELECT id, version, updated, coalesce(removed, 0), doc FROM `+h.table+` `+condition, args...)
	return out, err
}

// Name is a document by what it is found by: its key, which is its name.
type Name struct {
	ID   int64
	Name string
}

// names gives the names of all documents, along an index and without reading
// any of them.
func (h shelf[T]) names(ctx context.Context, s *Store) (out []Name, err error) {
	err = s.query(ctx, "store: read the names of "+h.table, func(row scan) error {
		var n Name
		err := row(&n.ID, &n.Name)
		out = append(out, n)
		return err
	}, `SELECT id, key FROM `+h.table+` INDEXED BY `+h.table+`_search `+byKey)
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
