package store

import (
	"context"
	"time"

	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/words"
)

// Day is a test day.
type Day struct {
	ID      int64     `json:"-"`
	Version int64     `json:"-"` // see Document
	Updated time.Time `json:"-"`
	Removed time.Time `json:"-"` // see Document

	Date   string `json:"date"` // 2006-01-02, where the day was held
	Name   string `json:"name"`
	Place  string `json:"place,omitzero"`
	Ground string `json:"ground,omitzero"`

	// Ready are the points of the list before the first pull that somebody has
	// gone through, by the names that the pages give them.
	Ready []string `json:"ready,omitempty"`
}

func vehicleShelf() shelf[gear.Vehicle] {
	return shelf[gear.Vehicle]{table: "vehicles", what: "vehicle", key: func(v gear.Vehicle) string { return v.Name }}
}

func itemShelf() shelf[gear.Item] {
	return shelf[gear.Item]{table: "items", what: "item", key: gear.Item.Key, check: checkItemPhotos}
}

func rigShelf() shelf[rig.Rig] {
	return shelf[rig.Rig]{table: "rigs", what: "rig", key: func(r rig.Rig) string { return r.Name }}
}

func dayShelf() shelf[Day] {
	return shelf[Day]{table: "days", what: "day", key: func(d Day) string { return d.Date + " " + d.Name }}
}

const (
	byKey     = `WHERE removed IS NULL ORDER BY key`
	latestKey = `WHERE removed IS NULL ORDER BY key DESC`
	whereKey  = `WHERE key = ?`
	whereID   = `WHERE id = ?`
)

// SaveVehicle writes a vehicle; see Document.
func (s *Store) SaveVehicle(ctx context.Context, d Document[gear.Vehicle]) (Document[gear.Vehicle], error) {
	return vehicleShelf().save(ctx, s, d)
}

// Vehicles gives all vehicles by name.
func (s *Store) Vehicles(ctx context.Context) ([]Document[gear.Vehicle], error) {
	return vehicleShelf().list(ctx, s, byKey)
}

// Vehicle gives the vehicle with that ID, or ErrNotFound.
func (s *Store) Vehicle(ctx context.Context, id int64) (Document[gear.Vehicle], error) {
	return vehicleShelf().one(ctx, s, whereID, id)
}

// SaveItem writes a piece of gear; see Document.
func (s *Store) SaveItem(ctx context.Context, d Document[gear.Item]) (Document[gear.Item], error) {
	return itemShelf().save(ctx, s, d)
}

// Item gives the piece of gear with that ID in the store, or ErrNotFound.
func (s *Store) Item(ctx context.Context, id int64) (Document[gear.Item], error) {
	return itemShelf().one(ctx, s, whereID, id)
}

// ItemByKey gives the piece of gear with that gear.Item.Key, or ErrNotFound.
func (s *Store) ItemByKey(ctx context.Context, key string) (Document[gear.Item], error) {
	return itemShelf().one(ctx, s, whereKey, key)
}

// Items gives all gear by its own ID.
func (s *Store) Items(ctx context.Context) ([]Document[gear.Item], error) {
	return itemShelf().list(ctx, s, byKey)
}

// SaveRig writes a rig; see Document.
func (s *Store) SaveRig(ctx context.Context, d Document[rig.Rig]) (Document[rig.Rig], error) {
	return rigShelf().save(ctx, s, d)
}

// Rigs gives all rigs by name.
func (s *Store) Rigs(ctx context.Context) ([]Document[rig.Rig], error) {
	return rigShelf().list(ctx, s, byKey)
}

// RigNames gives the names of all rigs, in their order.
func (s *Store) RigNames(ctx context.Context) ([]Name, error) { return rigShelf().names(ctx, s) }

// Rig gives the rig with that ID, or ErrNotFound.
func (s *Store) Rig(ctx context.Context, id int64) (Document[rig.Rig], error) {
	return rigShelf().one(ctx, s, whereID, id)
}

// RigByName gives the rig of that name, or ErrNotFound.
func (s *Store) RigByName(ctx context.Context, name string) (Document[rig.Rig], error) {
	return rigShelf().one(ctx, s, whereKey, name)
}

// SaveDay writes a test day; see Document. Its date must be one.
func (s *Store) SaveDay(ctx context.Context, d Day) (Day, error) {
	if _, err := time.Parse(time.DateOnly, d.Date); err != nil {
		return d, refuse(ErrInvalid, words.Error("store.day", d.Date))
	}
	saved, err := dayShelf().save(ctx, s, Document[Day]{ID: d.ID, Version: d.Version, Value: d})
	return asDay(saved), err
}

// Days gives all test days, the latest first.
func (s *Store) Days(ctx context.Context) ([]Day, error) {
	all, err := dayShelf().list(ctx, s, latestKey)
	return convert(all, asDay), err
}

// Day gives the test day with that ID, or ErrNotFound.
func (s *Store) Day(ctx context.Context, id int64) (Day, error) {
	d, err := dayShelf().one(ctx, s, whereID, id)
	return asDay(d), err
}

func asDay(d Document[Day]) Day {
	day := d.Value
	day.ID, day.Version, day.Updated, day.Removed = d.ID, d.Version, d.Updated, d.Removed
	return day
}

func convert[A, B any](in []A, f func(A) B) []B {
	out := make([]B, len(in))
	for i, a := range in {
		out[i] = f(a)
	}
	return out
}
