package main

import (
	"bufio"
	"io"

	"github.com/spf13/cobra"

	"tautlog/analysis/shock"
)

// setsRecord is the sets of a store as JSON, the latest first. The rule of
// thumb comes last.
type setsRecord struct {
	Sets    []setLine `json:"sets"`
	Planned setLine   `json:"planned_with"`
}

// newMultipliersSets lists the kept sets.
func newMultipliersSets() *cobra.Command {
	var k keepsSets
	c := &cobra.Command{
		Use:   "sets --data DIR",
		Short: "List the kept sets of multipliers, and which one is planned with",
		Args:  noArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			r, err := k.list(c)
			if err != nil {
				return err
			}
			if k.json {
				return writeJSON(c.OutOrStdout(), r)
			}
			return writeSets(c.OutOrStdout(), r)
		},
	}
	k.add(c)
	return c
}

func (k *keepsSets) list(c *cobra.Command) (r setsRecord, err error) {
	db, err := k.read(c)
	if err != nil {
		return r, err
	}
	defer db.Close()
	chosen, err := db.PlanningWith(c.Context())
	if err != nil {
		return r, err
	}
	sets, err := db.Sets(c.Context())
	if err != nil {
		return r, err
	}
	for _, s := range append(sets, shock.RuleOfThumb()) {
		r.Sets = append(r.Sets, lineOf(s, chosen))
	}
	r.Planned = lineOf(chosen, chosen)
	return r, nil
}

func writeSets(w io.Writer, r setsRecord) error {
	out := &lines{w: bufio.NewWriter(w)}
	out.say(0, "Planned with: %s.", r.Planned.label())
	for _, l := range r.Sets {
		out.gap()
		writeSet(out, l)
	}
	return out.end()
}
