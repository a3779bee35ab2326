package main

import "github.com/spf13/cobra"

// newPlan is the planning calculators.
func newPlan() *cobra.Command {
	c := &cobra.Command{
		Use:   "plan",
		Short: "Calculate what a pull will ask of the gear before it is made",
		Args: func(c *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usagef("%q is nothing that tautlog plans; see: %s --help", args[0], c.CommandPath())
			}
			return nil
		},
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	c.AddCommand(newPlanKinetic(), newPlanSteady(), newPlanRig())
	return c
}

// quantityFlag is a flag whose value is a quantity with its unit, not below
// zero, and above zero where it must be positive.
type quantityFlag[T ~float64] struct {
	kind     string // "mass"
	value    *T
	parse    func(string) (T, error)
	positive bool
	given    bool
}

// Set reads the quantity.
func (q *quantityFlag[T]) Set(s string) error {
	v, err := q.parse(s)
	switch {
	case err != nil:
		return err
	case v < 0:
		return usagef("a %s cannot be below zero here", q.kind)
	case q.positive && v == 0:
		return usagef("a %s of zero makes no sense here", q.kind)
	}
	*q.value, q.given = v, true
	return nil
}

// String is empty while nothing was given: there are no defaults.
func (q *quantityFlag[T]) String() string { return "" }

// Type is the kind of quantity.
func (q *quantityFlag[T]) Type() string { return q.kind }
