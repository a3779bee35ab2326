package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"

	"tautlog/calc/gear"
	"tautlog/calc/rig"
)

// New as the Version of a document to save makes a new one, and refuses with
// ErrConflict to write over one that has its name already.
const New = -1

// at gives a document as it was at a version, which the journal knows: each
// change of a document is one version. It gives ErrNotFound for a version that
// never was, or at which it was removed.
func (h shelf[T]) at(ctx context.Context, s *Store, id, version int64) (v T, err error) {
	op := fmt.Sprintf("store: read version %d of %s %d", version, h.what, id)
	err = s.read(ctx, op, func(tx *sql.Tx) error {
		if version < 1 {
			return sql.ErrNoRows
		}
		var after sql.NullString
		const ask = `SELECT after FROM journal WHERE what = ? AND ref = ? ORDER BY id LIMIT 1 OFFSET ?`
		if err := tx.QueryRowContext(ctx, ask, h.what, id, version-1).Scan(&after); err != nil {
			return err
		}
		if !after.Valid {
			return sql.ErrNoRows
		}
		return json.Unmarshal([]byte(after.String), &v)
	})
	return v, err
}

// ItemAt gives a piece of gear as it was at a version, or ErrNotFound.
func (s *Store) ItemAt(ctx context.Context, id, version int64) (gear.Item, error) {
	return itemShelf().at(ctx, s, id, version)
}

// VehicleAt gives a vehicle as it was at a version, or ErrNotFound.
func (s *Store) VehicleAt(ctx context.Context, id, version int64) (gear.Vehicle, error) {
	return vehicleShelf().at(ctx, s, id, version)
}

// RigAt gives a rig as it was at a version, or ErrNotFound.
func (s *Store) RigAt(ctx context.Context, id, version int64) (rig.Rig, error) {
	return rigShelf().at(ctx, s, id, version)
}

// DayAt gives a test day as it was at a version, or ErrNotFound.
func (s *Store) DayAt(ctx context.Context, id, version int64) (Day, error) {
	return dayShelf().at(ctx, s, id, version)
}

// PullAt gives a pull as an edit by a person left it at a version, or
// ErrNotFound. What was measured since is not in it.
func (s *Store) PullAt(ctx context.Context, id, version int64) (p Pull, err error) {
	err = s.read(ctx, fmt.Sprintf("store: read version %d of pull %d", version, id), func(tx *sql.Tx) error {
		var after []byte
		const ask = `SELECT after FROM journal WHERE what = 'pull' AND ref = ? AND after ->> '$.version' = ? ORDER BY id DESC LIMIT 1`
		if err := tx.QueryRowContext(ctx, ask, id, version).Scan(&after); err != nil {
			return err
		}
		var e pullEntry
		err := json.Unmarshal(after, &e)
		p = e.Pull
		p.ID, p.Version, p.Day = id, version, e.Day
		return err
	})
	return p, err
}
