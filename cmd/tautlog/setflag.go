package main

import (
	"context"

	"github.com/spf13/cobra"

	"tautlog/analysis/shock"
	"tautlog/ingest/store"
)

// setFlags choose the set of multipliers to plan with.
type setFlags struct{ called, dir string }

func (s *setFlags) add(c *cobra.Command) {
	c.Flags().StringVar(&s.called, "with", "", "`set` of multipliers to plan with, as NAME or NAME@VERSION; otherwise the one that is chosen in the store, or the rule of thumb")
	c.Flags().StringVar(&s.dir, "data", "", "`directory` of the store that keeps the sets")
}

// chosen gives the set: the named one, or what the store plans with, or the
// rule of thumb where there is no store.
func (s *setFlags) chosen(ctx context.Context) (shock.Kept, error) {
	if s.dir == "" {
		if s.called == "" || shock.IsRuleOfThumb(s.called) {
			return shock.RuleOfThumb(), nil
		}
		return shock.Kept{}, usagef("--with %s is a set in a store: add --data DIR", s.called)
	}
	db, err := store.OpenReader(s.dir)
	if err != nil {
		return shock.Kept{}, err
	}
	defer db.Close()
	if s.called == "" {
		return db.PlanningWith(ctx)
	}
	return (&keepsSets{dir: s.dir}).find(ctx, db, s.called)
}
