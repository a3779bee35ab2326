package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"tautlog/calc/words"
)

// anyShelf is a shelf whatever is on it.
type anyShelf interface {
	where() string // its table
	keyOf(doc []byte) (string, error)
}

// shelfOf gives the shelf of what a change is about; false for what is no
// document.
func shelfOf(what string) (anyShelf, bool) {
	switch what {
	case "cell":
		return cellShelf(), true
	case "vehicle":
		return vehicleShelf(), true
	case "item":
		return itemShelf(), true
	case "rig":
		return rigShelf(), true
	case "day":
		return dayShelf(), true
	case "plan":
		return planShelf(), true
	case "calibration":
		return calibrationShelf(), true
	case "zero":
		return zeroShelf(), true
	case "check":
		return checkShelf(), true
	case "draft":
		return draftShelf(), true
	}
	return nil, false
}

// Remove takes a document out of its list, by what it is ("vehicle", "item",
// "rig", "day", "plan", "calibration", "zero" or "check"), its ID and the version
// that was read, 0 for any.
//
// Nothing is lost: by its ID it can still be read, and its history, and every
// pull keeps its copy. Its name is free for another. Undo of the change brings
// it back. What is in force for a cell, and what was changed meanwhile, is
// refused with ErrConflict. Cells are not removed: their readings stay.
func (s *Store) Remove(ctx context.Context, what string, id, version int64) error {
	op := fmt.Sprintf("store: remove %s %d", what, id)
	h, ok := shelfOf(what)
	if !ok || what == "cell" {
		return fmt.Errorf("%s: %w", op, refuse(ErrInvalid, words.Error("store.stays")))
	}
	return s.write(ctx, op, func(tx *sql.Tx) error {
		old, err := readStored(ctx, tx, h.where(), whereID, id)
		switch {
		case err != nil:
			return err
		case old.removed != 0:
			return refuse(ErrNotFound, words.Error("store.removed.already"))
		case version != 0 && version != old.version:
			return conflict(old.version, version)
		}
		return s.removeStored(ctx, tx, what, h.where(), old)
	})
}

func conflict(is, read int64) error {
	return refuse(ErrConflict, words.Error("store.version", is, read))
}

// removedKey is the key of removed rows, of which the unit separator makes
// sure that nobody's name is the same.
const removedKey = `char(31) || id`

func (s *Store) removeStored(ctx context.Context, tx *sql.Tx, what, table string, old stored) error {
	if err := notInForce(ctx, tx, what, old.id); err != nil {
		return err
	}
	now := s.options.Now().UTC()
	update := `UPDATE ` + table + ` SET key = ` + removedKey + `, removed = ?1, updated = ?1, version = version + 1 WHERE id = ?2`
	if _, err := tx.ExecContext(ctx, update, now.UnixNano(), old.id); err != nil {
		return err
	}
	return s.enter(ctx, tx, now, what, old.id, old.doc, nil)
}

// notInForce refuses the removal of what a cell is set up with.
func notInForce(ctx context.Context, tx *sql.Tx, what string, id int64) error {
	const inForce = `SELECT c.key FROM setups s JOIN cells c ON c.id = s.cell
		WHERE s.id = (SELECT id FROM setups WHERE cell = c.id ORDER BY since DESC, id DESC LIMIT 1)
		AND ?1 IN (SELECT value FROM json_each(s.doc) WHERE key IN (?2, ?3))`
	in := map[string][2]string{"vehicle": {"puller", "stuck"}, "rig": {"rig", "rig"}, "day": {"day", "day"}}[what]
	return eachIn(ctx, tx, func(row scan) error {
		var cell string
		if err := row(&cell); err != nil {
			return err
		}
		return refuse(ErrConflict, words.Error("store.inforce", cell))
	}, inForce, id, in[0], in[1])
}

// restoreStored gives a row back what it held, under its name, which must be
// free.
func (s *Store) restoreStored(ctx context.Context, tx *sql.Tx, what string, h anyShelf, old stored, doc []byte) error {
	key, err := h.keyOf(doc)
	if err != nil {
		return err
	}
	if err := checkKey(ctx, tx, h.where(), what, old.id, key); err != nil {
		return err
	}
	now := s.options.Now().UTC()
	update := `UPDATE ` + h.where() + ` SET key = ?, removed = NULL, updated = ?, version = version + 1, doc = ? WHERE id = ?`
	if _, err := tx.ExecContext(ctx, update, key, now.UnixNano(), string(doc), old.id); err != nil {
		return err
	}
	if err := errors.Join(adopt(ctx, tx, h.where(), old.id, key), writeWords(ctx, tx, h.where(), old.id, doc)); err != nil {
		return err
	}
	before := old.doc
	if old.removed != 0 {
		before = nil
	}
	return s.enter(ctx, tx, now, what, old.id, before, doc)
}

// removedAt is the time of a removal; zero: it was not.
func removedAt(ns int64) (at time.Time) {
	if ns != 0 {
		at = time.Unix(0, ns).UTC()
	}
	return at
}
