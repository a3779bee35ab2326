package main

import (
	"bufio"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"tautlog/analysis/shock"
)

// usedRecord is what is planned with from now on, as JSON.
type usedRecord struct {
	Planned setLine  `json:"planned_with"`
	Before  setLine  `json:"before"`
	Remarks []string `json:"remarks"`
}

// newMultipliersUse chooses the set to plan with.
func newMultipliersUse() *cobra.Command {
	var k keepsSets
	c := &cobra.Command{
		Use:   "use NAME[@VERSION] --data DIR",
		Short: "Choose the set of multipliers to plan with",
		Long: `Chooses the set of multipliers that plans use from now on: the version that is
named, or the latest that there is now. A version that is kept later changes
nothing of that. "rule of thumb" is three times the weight in a kinetic pull,
common practice without a source; it is used until another set is chosen.`,
		Example: "  tautlog multipliers use 'river bar 2026' --data ~/tautlog\n  tautlog multipliers use 'rule of thumb' --data ~/tautlog",
		Args:    oneSet,
		RunE:    k.use,
	}
	k.add(c)
	return c
}

func (k *keepsSets) use(c *cobra.Command, args []string) (err error) {
	set, before, err := k.choose(c, args[0])
	if err != nil {
		return err
	}
	_, remarks := set.Refit()
	for _, r := range remarks {
		fmt.Fprintln(c.ErrOrStderr(), r)
	}
	if k.json {
		return writeJSON(c.OutOrStdout(), usedRecord{lineOf(set, set), lineOf(before, set), append([]string{}, remarks...)})
	}
	out := &lines{w: bufio.NewWriter(c.OutOrStdout())}
	out.say(0, "From now on plans use:")
	writeSet(out, lineOf(set, set))
	out.gap()
	out.say(0, "Before: %s.", before.Label())
	return out.end()
}

// choose makes a set the one to plan with and gives it and the one before.
func (k *keepsSets) choose(c *cobra.Command, called string) (set, before shock.Kept, err error) {
	look, err := k.read(c) // no store is made for a choice
	if err != nil {
		return set, before, err
	}
	set, err = k.find(c.Context(), look, called)
	if err = errors.Join(err, look.Close()); err != nil {
		return set, before, err
	}
	db, err := k.edit(c)
	if err != nil {
		return set, before, err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	if before, err = db.PlanningWith(c.Context()); err != nil {
		return set, before, err
	}
	set, err = db.PlanWith(c.Context(), set.Name, set.Version)
	return set, before, err
}
