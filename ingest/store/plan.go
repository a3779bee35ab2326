package store

import (
	"context"
	"encoding/json"
)

// Plan is a planned pull: what was asked, what came out, and by which
// multipliers, so that it can be looked at again as it was.
type Plan struct {
	Name   string          `json:"name"`
	Kind   string          `json:"kind"`             // which calculator: "kinetic", "steady", …
	Inputs json.RawMessage `json:"inputs,omitempty"` // as the calculator takes them
	Result json.RawMessage `json:"result,omitempty"` // as it gave it
	Set    SetRef          `json:"set,omitzero"`     // the multipliers it was planned with; zero: none
}

func planShelf() shelf[Plan] {
	return shelf[Plan]{table: "plans", what: "plan", key: func(p Plan) string { return p.Name }}
}

// SavePlan writes a plan; see Document.
func (s *Store) SavePlan(ctx context.Context, d Document[Plan]) (Document[Plan], error) {
	return planShelf().save(ctx, s, d)
}

// Plans gives all plans by name.
func (s *Store) Plans(ctx context.Context) ([]Document[Plan], error) {
	return planShelf().list(ctx, s, byKey)
}

// Plan gives the plan with that ID, or ErrNotFound.
func (s *Store) Plan(ctx context.Context, id int64) (Document[Plan], error) {
	return planShelf().one(ctx, s, whereID, id)
}

// PlanByName gives the plan of that name, or ErrNotFound.
func (s *Store) PlanByName(ctx context.Context, name string) (Document[Plan], error) {
	return planShelf().one(ctx, s, whereKey, name)
}
