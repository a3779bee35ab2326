package main

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"tautlog/analysis/shock"
	"tautlog/ingest/store"
)

// setFlags choose the set of multipliers to plan with.
type setFlags struct {
	dir     string
	name    string
	version int
}

func (s *setFlags) add(c *cobra.Command) {
	c.Flags().Var(s, "with", "`set` of multipliers to plan with, as NAME or NAME@VERSION; otherwise the one that is chosen in the store, or the rule of thumb")
	c.Flags().StringVar(&s.dir, "data", "", "`directory` of the store that keeps the sets")
}

// Set reads NAME or NAME@VERSION.
func (s *setFlags) Set(text string) error {
	name, version, versioned := strings.Cut(text, "@")
	s.name, s.version = strings.TrimSpace(name), 0
	if versioned {
		n, err := strconv.Atoi(version)
		if err != nil || n < 1 {
			return fmt.Errorf("%q is not a version: write NAME@1 or a higher number", version)
		}
		s.version = n
	}
	if s.name == "" {
		return errors.New("a set has a name: write NAME or NAME@VERSION")
	}
	return nil
}

// String prints the set.
func (s *setFlags) String() string {
	if s.version == 0 {
		return s.name
	}
	return fmt.Sprintf("%s@%d", s.name, s.version)
}

// Type names the kind of value.
func (s *setFlags) Type() string { return "set" }

// chosen gives the set: the named one, or what the store plans with, or the
// rule of thumb where there is no store.
func (s *setFlags) chosen(ctx context.Context) (shock.Kept, error) {
	if s.dir == "" {
		if s.name == "" || shock.IsRuleOfThumb(s.name) && s.version == 0 {
			return shock.RuleOfThumb(), nil
		}
		return shock.Kept{}, usagef("--with %s is a set in a store: add --data DIR", s)
	}
	db, err := store.OpenReader(s.dir)
	if err != nil {
		return shock.Kept{}, err
	}
	defer db.Close()
	if s.name == "" {
		return db.PlanningWith(ctx)
	}
	k, err := db.Set(ctx, s.name, s.version)
	if errors.Is(err, store.ErrNotFound) {
		return k, fmt.Errorf("the store in %s has no set %s; it has: %s", s.dir, s, setsIn(ctx, db))
	}
	return k, err
}

// setsIn lists the sets of a store.
func setsIn(ctx context.Context, db *store.Store) string {
	names := []string{shock.RuleOfThumb().Label()}
	sets, err := db.Sets(ctx)
	if err != nil {
		return err.Error()
	}
	for _, k := range sets {
		names = append(names, fmt.Sprintf("%s@%d", k.Name, k.Version))
	}
	return strings.Join(names, ", ")
}
