package main

import (
	"bufio"
	"context"
	"io"

	"github.com/spf13/cobra"

	"tautlog/analysis/shock"
	"tautlog/ingest/store"
)

// comparison is two sets, class by class, as JSON.
type comparison struct {
	A           setLine            `json:"a"`
	B           setLine            `json:"b"`
	Differences []shock.Difference `json:"differences"`
}

type comparisonsRecord struct {
	Comparisons []comparison `json:"comparisons"`
}

// newMultipliersCompare holds sets against each other.
func newMultipliersCompare() *cobra.Command {
	var k keepsSets
	c := &cobra.Command{
		Use:   "compare [NAME[@VERSION] NAME[@VERSION]] --data DIR",
		Short: "Hold two sets of multipliers against each other, class by class",
		Long: `Says for each kind, ground and strap what two sets plan with, and the ratio.
Without names, the set that is planned with is held against its version before,
if there is one, and against the latest assumed set: the rule of thumb unless
another was kept.`,
		Example: "  tautlog multipliers compare 'river bar 2026@2' 'river bar 2026' --data ~/tautlog",
		Args: func(c *cobra.Command, args []string) error {
			if len(args) != 0 && len(args) != 2 {
				return usagef("%s wants two sets, or none for the one that is planned with; see: %s --help", c.CommandPath(), c.CommandPath())
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			r, err := k.compare(c, args)
			if err != nil {
				return err
			}
			if k.json {
				return writeJSON(c.OutOrStdout(), r)
			}
			return writeComparisons(c.OutOrStdout(), r)
		},
	}
	k.add(c)
	return c
}

func (k *keepsSets) compare(c *cobra.Command, args []string) (r comparisonsRecord, err error) {
	db, err := k.read(c)
	if err != nil {
		return r, err
	}
	defer db.Close()
	chosen, err := db.PlanningWith(c.Context())
	if err != nil {
		return r, err
	}
	var pairs [][2]shock.Kept
	if len(args) == 2 {
		pairs, err = k.named(c.Context(), db, args[0], args[1])
	} else {
		pairs, err = besideChosen(c.Context(), db, chosen)
	}
	r.Comparisons = []comparison{}
	for _, p := range pairs {
		r.Comparisons = append(r.Comparisons, comparison{lineOf(p[0], chosen), lineOf(p[1], chosen), shock.Compare(p[0], p[1])})
	}
	return r, err
}

func (k *keepsSets) named(ctx context.Context, db *store.Store, a, b string) ([][2]shock.Kept, error) {
	first, err := k.find(ctx, db, a)
	if err != nil {
		return nil, err
	}
	second, err := k.find(ctx, db, b)
	return [][2]shock.Kept{{first, second}}, err
}

// besideChosen pairs the chosen set with its version before and with the
// latest assumed set, as far as those are others.
func besideChosen(ctx context.Context, db *store.Store, chosen shock.Kept) (pairs [][2]shock.Kept, err error) {
	if chosen.Version > 1 {
		before, err := db.Set(ctx, chosen.Name, chosen.Version-1)
		if err != nil {
			return nil, err
		}
		pairs = append(pairs, [2]shock.Kept{before, chosen})
	}
	sets, err := db.Sets(ctx)
	if err != nil {
		return nil, err
	}
	for _, s := range append(sets, shock.RuleOfThumb()) {
		if s.Fit != nil {
			continue
		}
		if s.Name != chosen.Name {
			pairs = append(pairs, [2]shock.Kept{s, chosen})
		}
		break
	}
	return pairs, nil
}

func writeComparisons(w io.Writer, r comparisonsRecord) error {
	out := &lines{w: bufio.NewWriter(w)}
	if len(r.Comparisons) == 0 {
		out.say(0, "Plans use the rule of thumb, and there is no other set to hold it against.")
	}
	for i, c := range r.Comparisons {
		if i > 0 {
			out.gap()
		}
		out.say(0, "%s against %s", c.A.label(), c.B.label())
		for _, d := range c.Differences {
			out.say(2, "%s", assumedFor(d.ClassName))
			out.say(4, "%s", d.Words)
		}
	}
	return out.end()
}
