package store

import (
	"context"
	"time"

	"tautlog/analysis/pull"
	"tautlog/calc/rig"
)

// Pull is a pull in the log.
type Pull struct {
	ID      int64     `json:"-"`
	Version int64     `json:"-"` // counts the edits by people; see SavePull
	Updated time.Time `json:"-"`

	Cell    int64     `json:"-"`
	Day     int64     `json:"-"`             // 0: none
	Rig     *rig.Rig  `json:"rig,omitempty"` // as it was rigged, a copy; nil: not known
	Found   pull.Pull `json:"found"`         // as found and measured
	Kind    pull.Kind `json:"kind"`          // as shown: found, or changed by a person
	Ground  string    `json:"ground,omitzero"`
	Notes   string    `json:"notes,omitzero"`
	Settled bool      `json:"-"` // false: a first result, the pull may still go on
}

// PullFilter chooses pulls. Zero fields choose everything.
type PullFilter struct {
	From, To  int64 // start in [From, To), ns UTC; To 0: no end
	Cell, Day int64
	Limit     int
}

// SavePull writes a pull. With a zero Version it is a result of the analysis:
// it replaces what was found for the same cell and start, and leaves alone
// what a person has edited (day, rig, kind, ground, notes). With the Version
// that was read it is an edit by a person: it changes just those, and is
// refused with ErrConflict when another edit came first.
func (s *Store) SavePull(ctx context.Context, p Pull) (Pull, error) { return p, nil }

// Pulls gives the pulls that a filter chooses, the latest first.
func (s *Store) Pulls(ctx context.Context, f PullFilter) ([]Pull, error) { return nil, nil }

// Pull gives one pull, or ErrNotFound.
func (s *Store) Pull(ctx context.Context, id int64) (Pull, error) { return Pull{}, ErrNotFound }
