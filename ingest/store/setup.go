package store

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"

	"tautlog/calc/words"
)

// Setup is what is in force for a cell: which day it is, what is rigged.
type Setup struct {
	Cell   int64  `json:"-"`
	Since  int64  `json:"-"` // when it came into force, ns UTC; the store sets it
	Day    int64  `json:"day,omitzero"`
	Rig    int64  `json:"rig,omitzero"`
	Puller int64  `json:"puller,omitzero"` // vehicle
	Stuck  int64  `json:"stuck,omitzero"`  // vehicle
	Ground string `json:"ground,omitzero"`
	Notes  string `json:"notes,omitzero"`
}

// SetSetup puts a setup in force for its cell from now on. Earlier ones stay
// known, for the pulls of their time. One that is in force already changes
// nothing.
func (s *Store) SetSetup(ctx context.Context, u Setup) (set Setup, err error) {
	err = s.write(ctx, "store: set up cell", func(tx *sql.Tx) error {
		set, err = s.putSetup(ctx, tx, u)
		return err
	})
	if err != nil {
		return u, err
	}
	return set, nil
}

// SetSetupOver is SetSetup, refused with ErrConflict unless what has been in
// force since that time still is; 0: nothing was.
func (s *Store) SetSetupOver(ctx context.Context, u Setup, since int64) (set Setup, err error) {
	err = s.write(ctx, "store: set up cell", func(tx *sql.Tx) error {
		old, err := setupAt(ctx, tx, u.Cell, s.options.Now().UnixNano())
		if err != nil && !errors.Is(err, sql.ErrNoRows) {
			return err
		}
		if old.since != since {
			return refuse(ErrConflict, words.Error("store.setup.anew", clock(old.since)))
		}
		set, err = s.putSetup(ctx, tx, u)
		return err
	})
	if err != nil {
		return u, err
	}
	return set, nil
}

func (s *Store) putSetup(ctx context.Context, tx *sql.Tx, u Setup) (Setup, error) {
	doc, err := json.Marshal(u)
	if err != nil {
		return u, refuse(ErrInvalid, err)
	}
	now := s.options.Now().UTC()
	u.Since = now.UnixNano()
	old, err := setupAt(ctx, tx, u.Cell, u.Since)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return u, err
	}
	if bytes.Equal(old.doc, doc) {
		u.Since = old.since
		return u, nil
	}
	if err := checkReferences(ctx, tx, u); err != nil {
		return u, err
	}
	if _, err := tx.ExecContext(ctx, `INSERT INTO setups (cell, since, doc) VALUES (?, ?, ?)`, u.Cell, u.Since, string(doc)); err != nil {
		return u, err
	}
	return u, s.enter(ctx, tx, now, "setup", u.Cell, old.doc, doc)
}

// checkReferences refuses a setup that names what is not there, or no more.
func checkReferences(ctx context.Context, tx *sql.Tx, u Setup) error {
	for _, ref := range []struct {
		table string
		id    int64
	}{{"cells", u.Cell}, {"days", u.Day}, {"rigs", u.Rig}, {"vehicles", u.Puller}, {"vehicles", u.Stuck}} {
		if ref.id == 0 && ref.table != "cells" {
			continue
		}
		var known bool
		if err := tx.QueryRowContext(ctx, `SELECT count(*) > 0 FROM `+ref.table+` WHERE id = ? AND removed IS NULL`, ref.id).Scan(&known); err != nil {
			return err
		}
		if !known {
			return fmt.Errorf("%s %d: %w", ref.table, ref.id, ErrNotFound)
		}
	}
	return nil
}

// Setup gives the setup in force for a cell now, or ErrNotFound.
func (s *Store) Setup(ctx context.Context, cell int64) (Setup, error) {
	return s.SetupAt(ctx, cell, s.options.Now().UnixNano())
}

// SetupAt gives the setup that was in force for a cell at time at, or
// ErrNotFound.
func (s *Store) SetupAt(ctx context.Context, cell, at int64) (u Setup, err error) {
	err = s.read(ctx, "store: read setup", func(tx *sql.Tx) error {
		old, err := setupAt(ctx, tx, cell, at)
		if err != nil {
			return err
		}
		u.Cell, u.Since = cell, old.since
		return json.Unmarshal(old.doc, &u)
	})
	return u, err
}

type storedSetup struct {
	since int64
	doc   []byte
}

func setupAt(ctx context.Context, tx *sql.Tx, cell, at int64) (old storedSetup, err error) {
	const ask = `SELECT since, doc FROM setups WHERE cell = ? AND since <= ? ORDER BY since DESC, id DESC LIMIT 1`
	err = tx.QueryRowContext(ctx, ask, cell, at).Scan(&old.since, &old.doc)
	return old, err
}
