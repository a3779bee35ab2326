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

	"tautlog/analysis/shock"
	"tautlog/calc/words"
)

// SetRef names one version of a set of multipliers. The zero version stands
// for the rule of thumb.
type SetRef struct {
	Name    string `json:"name"`
	Version int    `json:"version"`
}

// storedSet is a row of sets.
type storedSet struct {
	shock.Kept
	id  int64
	doc []byte
}

const setColumns = `SELECT id, name, version, doc FROM sets `

func readSet(row scan) (k storedSet, err error) {
	var ref SetRef
	if err := row(&k.id, &ref.Name, &ref.Version, &k.doc); err != nil {
		return k, err
	}
	if err := json.Unmarshal(k.doc, &k.Kept); err != nil {
		return k, words.Error("store.damaged.set", ErrDamaged, ref.Name, ref.Version, err)
	}
	return k, nil
}

// SaveSet appends a version to the sets of that name, the first where there is
// none. A set that is kept never changes and is never removed.
//
// With a zero Version it comes behind whatever is there; any other must be
// that of the latest version, or the save is refused with ErrConflict. Keeping
// what the latest version says already changes nothing. Who and Made are filled
// in where they are empty. A set that Kept.Check refuses is ErrInvalid.
func (s *Store) SaveSet(ctx context.Context, k shock.Kept) (shock.Kept, error) {
	k.Name = strings.TrimSpace(k.Name)
	op := fmt.Sprintf("store: keep set %q", k.Name)
	if err := k.Check(); err != nil {
		return k, fmt.Errorf("%s: %w", op, refuse(ErrInvalid, err))
	}
	saved := k
	err := s.write(ctx, op, func(tx *sql.Tx) (err error) {
		saved, err = s.appendSet(ctx, tx, k)
		return err
	})
	if err != nil {
		return k, err
	}
	return saved, nil
}

func (s *Store) appendSet(ctx context.Context, tx *sql.Tx, k shock.Kept) (shock.Kept, error) {
	latest, err := setInForce(ctx, tx, k.Name, 0)
	switch {
	case err != nil && !errors.Is(err, sql.ErrNoRows):
		return k, err
	case k.Version != 0 && k.Version != latest.Version:
		return k, refuse(ErrConflict, words.Error("store.version", latest.Version, k.Version))
	}
	if same, err := sameSet(latest.Kept, k); err != nil || same {
		return latest.Kept, err
	}
	now := s.options.Now().UTC()
	k.Version = latest.Version + 1
	made, err := s.sign(ctx, &k, now)
	if err != nil {
		return k, err
	}
	doc, err := encodeDocument(k)
	if err != nil {
		return k, err
	}
	row, err := tx.ExecContext(ctx, `INSERT INTO sets (name, version, made, doc) VALUES (?, ?, ?, ?)`, k.Name, k.Version, made.UnixNano(), string(doc))
	if err != nil {
		return k, err
	}
	id, err := row.LastInsertId()
	if err != nil {
		return k, err
	}
	return k, s.enterRefs(ctx, tx, now, "set", id, refOf(latest.Kept), refOf(k))
}

// sign fills in who made the set and when, where that is open.
func (s *Store) sign(ctx context.Context, k *shock.Kept, now time.Time) (made time.Time, err error) {
	if k.Who == "" {
		k.Who = s.who(ctx)
	}
	if k.Made == "" {
		k.Made = now.Format(time.RFC3339)
	}
	if made, err = time.Parse(time.RFC3339, k.Made); err != nil {
		return made, refuse(ErrInvalid, words.Error("store.set.made", k.Made))
	}
	return made, nil
}

// sameSet tells whether two sets say the same, whoever made them and when.
func sameSet(a, b shock.Kept) (bool, error) {
	for _, k := range []*shock.Kept{&a, &b} {
		k.Version, k.Made, k.Who = 0, "", ""
	}
	before, err := json.Marshal(a)
	if err != nil {
		return false, err
	}
	after, err := json.Marshal(b)
	if err != nil {
		return false, refuse(ErrInvalid, err)
	}
	return bytes.Equal(before, after), nil
}

// setInForce gives a version of a set, the latest for 0, or sql.ErrNoRows.
func setInForce(ctx context.Context, tx *sql.Tx, name string, version int) (storedSet, error) {
	const condition = `WHERE name = ?1 AND (?2 = 0 OR version = ?2) ORDER BY version DESC LIMIT 1`
	return readSet(tx.QueryRowContext(ctx, setColumns+condition, strings.TrimSpace(name), version).Scan)
}

// Sets gives every version of every set that was kept, the latest made first.
// The rule of thumb is not among them.
func (s *Store) Sets(ctx context.Context) (out []shock.Kept, err error) {
	err = s.query(ctx, "store: read sets", func(row scan) error {
		k, err := readSet(row)
		out = append(out, k.Kept)
		return err
	}, setColumns+`ORDER BY made DESC, id DESC`)
	return out, err
}

// SetRefs names every version of every set that was kept, in the order of Sets,
// without reading any of them.
func (s *Store) SetRefs(ctx context.Context) (out []SetRef, err error) {
	err = s.query(ctx, "store: read the names of sets", func(row scan) error {
		var ref SetRef
		err := row(&ref.Name, &ref.Version)
		out = append(out, ref)
		return err
	}, `SELECT name, version FROM sets ORDER BY made DESC, id DESC`)
	return out, err
}

// Set gives a version of a set, the latest for 0, or ErrNotFound. The rule of
// thumb is there in every store, under its name.
func (s *Store) Set(ctx context.Context, name string, version int) (k shock.Kept, err error) {
	if shock.IsRuleOfThumb(name) && version == 0 {
		return shock.RuleOfThumb(), nil
	}
	err = s.read(ctx, "store: read set "+nameSet(name, version), func(tx *sql.Tx) error {
		stored, err := setInForce(ctx, tx, name, version)
		k = stored.Kept
		return err
	})
	return k, err
}

// SetHead is what Set gives, without the pulls of the set, and how many they
// are: what it says to plan with is there at once, however many pulls are behind it.
func (s *Store) SetHead(ctx context.Context, ref SetRef) (k shock.Kept, pulls int, err error) {
	if shock.IsRuleOfThumb(ref.Name) && ref.Version == 0 {
		return shock.RuleOfThumb(), 0, nil
	}
	err = s.read(ctx, "store: read set "+nameSet(ref.Name, ref.Version), func(tx *sql.Tx) error {
		const head = `SELECT h.doc, h.pulls FROM sets s JOIN set_heads h ON h.kept = s.id
			WHERE s.name = ?1 AND (?2 = 0 OR s.version = ?2) ORDER BY s.version DESC LIMIT 1`
		var doc []byte
		if err := tx.QueryRowContext(ctx, head, strings.TrimSpace(ref.Name), ref.Version).Scan(&doc, &pulls); err != nil {
			return err
		}
		if err := json.Unmarshal(doc, &k); err != nil {
			return words.Error("store.damaged.set", ErrDamaged, ref.Name, ref.Version, err)
		}
		return nil
	})
	return k, pulls, err
}

func nameSet(name string, version int) string {
	if version == 0 {
		return fmt.Sprintf("%q", name)
	}
	return fmt.Sprintf("%q, version %d", name, version)
}

func refOf(k shock.Kept) SetRef { return SetRef{k.Name, k.Version} }

// enterRefs journals a change from one set to another, by their names: what is
// in them stays in sets. An empty name before stands for nothing.
func (s *Store) enterRefs(ctx context.Context, tx *sql.Tx, at time.Time, what string, ref int64, before, after SetRef) error {
	var old []byte
	if before.Name != "" {
		var err error
		if old, err = json.Marshal(before); err != nil {
			return err
		}
	}
	doc, err := json.Marshal(after)
	if err != nil {
		return err
	}
	return s.enter(ctx, tx, at, what, ref, old, doc)
}
