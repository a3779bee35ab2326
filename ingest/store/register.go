package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"maps"
	"slices"
	"strings"

	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/words"
)

// Register is documents that are saved as one.
type Register struct {
	Vehicles []gear.Vehicle
	Items    []gear.Item
	Rigs     []rig.Rig
}

// Register is all that the register holds, in the order of its lists.
func (s *Store) Register(ctx context.Context) (reg Register, err error) {
	vehicles, err := s.Vehicles(ctx)
	if err != nil {
		return reg, err
	}
	items, err := s.Items(ctx)
	if err != nil {
		return reg, err
	}
	rigs, err := s.Rigs(ctx)
	return Register{valuesOf(vehicles), valuesOf(items), valuesOf(rigs)}, err
}

func valuesOf[T any](docs []Document[T]) []T {
	out := make([]T, len(docs))
	for i, d := range docs {
		out[i] = d.Value
	}
	return out
}

// Outcome is what the saving of a register makes of one of its documents.
type Outcome struct {
	What   string   `json:"what"`             // "vehicle", "item" or "rig"
	Key    string   `json:"key"`              // what it is found by
	Did    Did      `json:"did"`              // what became of it
	Fields []string `json:"fields,omitempty"` // of a changed one: the keys that differ

	// Before and After are the documents of a changed one.
	Before json.RawMessage `json:"-"`
	After  json.RawMessage `json:"-"`
}

// Did is what became of a document.
type Did string

// What may become of it.
const (
	DidAdd    Did = "new"
	DidChange Did = "changed"
	DidKeep   Did = "the same"
)

var errOnlyTried = errors.New("only tried")

// SaveRegister writes all documents of a register or none of them, each over
// the one of its key; what the register does not name stays. It tells what
// became of each, in order. With try it tells the same and writes nothing.
func (s *Store) SaveRegister(ctx context.Context, reg Register, try bool) (done []Outcome, err error) {
	err = s.write(ctx, "store: save the register", func(tx *sql.Tx) error {
		vehicles, err := saveAll(ctx, s, tx, vehicleShelf(), reg.Vehicles)
		if err != nil {
			return err
		}
		items, err := saveAll(ctx, s, tx, itemShelf(), reg.Items)
		if err != nil {
			return err
		}
		rigs, err := saveAll(ctx, s, tx, rigShelf(), reg.Rigs)
		if err != nil {
			return err
		}
		done = slices.Concat(vehicles, items, rigs)
		if try {
			return errOnlyTried
		}
		return nil
	})
	if errors.Is(err, errOnlyTried) {
		return done, nil
	}
	if err != nil {
		return nil, err
	}
	return done, nil
}

func saveAll[T any](ctx context.Context, s *Store, tx *sql.Tx, h shelf[T], values []T) ([]Outcome, error) {
	out := make([]Outcome, len(values))
	for i, v := range values {
		key := strings.TrimSpace(h.key(v))
		out[i] = Outcome{What: h.what, Key: key, Did: DidKeep}
		old, err := h.find(ctx, tx, 0, key)
		if err != nil {
			return nil, err
		}
		saved, err := h.saveIn(ctx, s, tx, Document[T]{Value: v})
		switch {
		case err != nil:
			return nil, saving(thing(h.what), key, err)
		case old.id == 0:
			out[i].Did = DidAdd
		case saved.Version != old.version:
			out[i].Did, out[i].Before = DidChange, again[T](old.doc)
			if out[i].After, err = json.Marshal(v); err == nil {
				out[i].Fields, err = differing(out[i].Before, out[i].After)
			}
			if err != nil {
				return nil, err
			}
		}
	}
	return out, nil
}

// saving says which of a register could not be saved.
func saving(what, key string, err error) error {
	if r, ok := errors.AsType[*Refusal](err); ok {
		return refuse(r.Reason, words.Error("store.register.one", what, key, r.Why))
	}
	return words.Error("store.register.one", what, key, err)
}

// differing names the keys in which two documents differ.
func differing(was, is []byte) ([]string, error) {
	var before, after map[string]json.RawMessage
	if err := errors.Join(json.Unmarshal(was, &before), json.Unmarshal(is, &after)); err != nil {
		return nil, err
	}
	keys := map[string]bool{}
	for _, m := range []map[string]json.RawMessage{before, after} {
		for key := range m {
			if string(before[key]) != string(after[key]) {
				keys[key] = true
			}
		}
	}
	return slices.Sorted(maps.Keys(keys)), nil
}
