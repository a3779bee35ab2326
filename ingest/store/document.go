package store

import (
	"context"
	"time"

	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
)

// Document is something that people edit, with what the store knows of it.
//
// Saving follows one rule everywhere: a zero ID finds the row by its name
// (items by their own ID), a non-zero one allows a new name. A zero Version
// writes over whatever is there, or makes it; any other is refused with
// ErrConflict unless the row still has that version.
type Document[T any] struct {
	ID      int64
	Version int64
	Updated time.Time
	Value   T
}

// Vehicle is one that pulls or is pulled.
type Vehicle struct {
	Name  string    `json:"name"`
	Mass  unit.Mass `json:"mass"`           // as it stands, people and load included
	GVM   unit.Mass `json:"gvm,omitzero"`   // gross vehicle mass from the plate; 0 unknown
	Notes string    `json:"notes,omitzero"` // tyres, load, fittings
}

// Day is a test day.
type Day struct {
	ID      int64     `json:"-"`
	Version int64     `json:"-"` // see Document
	Updated time.Time `json:"-"`

	Date   string `json:"date"` // 2006-01-02, where the day was held
	Name   string `json:"name"`
	Place  string `json:"place,omitzero"`
	Ground string `json:"ground,omitzero"`
}

// SaveVehicle writes a vehicle.
func (s *Store) SaveVehicle(ctx context.Context, d Document[Vehicle]) (Document[Vehicle], error) {
	return d, nil
}

// Vehicles gives all vehicles by name.
func (s *Store) Vehicles(ctx context.Context) ([]Document[Vehicle], error) { return nil, nil }

// SaveItem writes a piece of gear.
func (s *Store) SaveItem(ctx context.Context, d Document[gear.Item]) (Document[gear.Item], error) {
	return d, nil
}

// Items gives all gear by its own ID.
func (s *Store) Items(ctx context.Context) ([]Document[gear.Item], error) { return nil, nil }

// SaveRig writes a rig.
func (s *Store) SaveRig(ctx context.Context, d Document[rig.Rig]) (Document[rig.Rig], error) {
	return d, nil
}

// Rigs gives all rigs by name.
func (s *Store) Rigs(ctx context.Context) ([]Document[rig.Rig], error) { return nil, nil }

// Rig gives the rig with that ID, or ErrNotFound.
func (s *Store) Rig(ctx context.Context, id int64) (Document[rig.Rig], error) {
	return Document[rig.Rig]{}, ErrNotFound
}

// RigByName gives the rig of that name, or ErrNotFound.
func (s *Store) RigByName(ctx context.Context, name string) (Document[rig.Rig], error) {
	return Document[rig.Rig]{}, ErrNotFound
}

// SaveDay writes a test day; without an ID it is found by date and name.
func (s *Store) SaveDay(ctx context.Context, d Day) (Day, error) { return d, nil }

// Days gives all test days, the latest first.
func (s *Store) Days(ctx context.Context) ([]Day, error) { return nil, nil }
