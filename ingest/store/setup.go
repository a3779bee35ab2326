package store

import "context"

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

// SetSetup puts a setup in force for its cell from now on.
func (s *Store) SetSetup(ctx context.Context, u Setup) (Setup, error) { return u, nil }

// Setup gives the setup in force for a cell now, or ErrNotFound.
func (s *Store) Setup(ctx context.Context, cell int64) (Setup, error) { return Setup{}, ErrNotFound }

// SetupAt gives the setup that was in force for a cell at time at, or
// ErrNotFound.
func (s *Store) SetupAt(ctx context.Context, cell, at int64) (Setup, error) {
	return Setup{}, ErrNotFound
}
