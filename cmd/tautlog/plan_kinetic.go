package main

import (
	"errors"
	"fmt"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"tautlog/calc/kinetic"
	"tautlog/calc/unit"
)

// newPlanKinetic calculates a kinetic pull.
func newPlanKinetic() *cobra.Command {
	p := &kineticPlan{show: unit.DefaultShown}
	asJSON := false
	c := &cobra.Command{
		Use:   "kinetic --puller MASS --stuck MASS --speed SPEED --stiffness STIFFNESS",
		Short: "Peak, stretch and energy of a kinetic pull",
		Long: `Calculates the peak of a kinetic pull from the masses, the speed at which the line comes taut and the line: two
bodies, and a stuck vehicle that moves only while the line pulls harder than its resistance. Without --resistance the
stuck vehicle does not move at all, which gives the highest peak.

The line is told in one of three ways:
  --stiffness 60kN/m
  --length 9m --mbs 110kN --elongation 20%          what stretches it so far: its MBS, or the load --at 50kN
  --length 9m --curve-file CURVE.csv                a measured loading curve

A curve file has a column stretch_m (or elongation, a fraction of the length, or elongation_percent) and a column force_N
or force_kN, of the first loading, rising from row to row. --length and --mbs may always be given: they are for the
distance to keep and for the share of the strength.

Without any of them, a set of multipliers that has pulls of known speed with the strap (--strap, or that of the rig)
says how it stretches, where --length and --mbs are known.

With --slack the puller runs through so much slack first: --speed is then its speed before that, none is from standstill,
and --drive pushes it on the way. --grip caps the drive by what the ground holds.

With --rig every item of the gear is judged at the peak to plan with; masses and strap are taken from the rig where they
are not given. That peak is the upper bound of the most specific evidence: of the pulls of known speed in the set of
multipliers, of those of this kind, ground and strap, or what is assumed; and never below the peak of the model.

Without a loss and with a straight line the peak comes from a formula, otherwise from following the motion step by step.
Quantities have a unit: 2800kg, 3.2t, 8km/h, 60kN/m, 12kN, 20%.`,
		Example: `  tautlog plan kinetic --puller 2800kg --stuck 3200kg --speed 8km/h --stiffness 60kN/m --resistance 12kN
  tautlog plan kinetic --puller 2800kg --stuck 3200kg --slack 2m --drive 12kN --grip 0.6 --length 9m --mbs 110kN --elongation 20% --wet --attempts 3 --stiffening 5%`,
		Args: noArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			if err := p.calculate(c); err != nil {
				return err
			}
			if asJSON && p.rig.forecast != nil {
				return p.rig.writeJSON(c.OutOrStdout())
			}
			if asJSON {
				return writeJSON(c.OutOrStdout(), p.out.Record())
			}
			return p.writeText(c.OutOrStdout())
		},
	}
	p.add(c.Flags())
	p.rig.add(c)
	c.Flags().BoolVar(&asJSON, "json", false, "print one JSON document")
	return c
}

// kineticPlan is a planned pull and what it comes to.
type kineticPlan struct {
	plan      kinetic.Plan
	grip      kinetic.Grip
	curveFile string
	comma     bool // decimal, in the curve file
	show      unit.ForceUnit
	rig       kineticRig

	out kinetic.Outcome
}

func (p *kineticPlan) calculate(c *cobra.Command) (err error) {
	given := c.Flags().Changed
	known := func(name string) bool { return given(name) || p.rig.knows(name) }
	if err := missing(c, known); err != nil {
		return err
	}
	if err := misplaced(given, known); err != nil {
		return err
	}
	if given("grip") {
		p.plan.Grip = &p.grip
	}
	if p.plan.Attempts < 1 {
		return usagef("%d attempts are no pull: give 1 or more", p.plan.Attempts)
	}
	p.plan.Fixed = !given("resistance")
	if given("curve-file") {
		if p.plan.Strap.Points, err = readCurve(p.curveFile, p.plan.Strap.Length, p.comma); err != nil {
			return err
		}
	}
	if p.rig.asked(given) {
		if err = p.rig.calculate(c, p.plan, p.show); err == nil {
			p.plan, p.out = p.rig.forecast.Kinetic.Plan, p.rig.forecast.Outcome
		}
	} else {
		p.out, err = p.plan.Calculate()
	}
	if errors.Is(err, kinetic.ErrPull) {
		return usagef("%w", err)
	}
	return err
}

// lineFlags are the flags that say how the line stretches.
const lineFlags = "--stiffness (or --elongation, or --curve-file)"

// missing names the flags without which nothing can be planned.
func missing(c *cobra.Command, given func(string) bool) error {
	var names []string
	for _, name := range []string{"puller", "stuck", "speed"} {
		if !given(name) && !(name == "speed" && given("slack")) {
			names = append(names, "--"+name)
		}
	}
	if len(strapWays(given)) == 0 {
		names = append(names, lineFlags)
	}
	if len(names) == 0 {
		return nil
	}
	return usagef("a kinetic pull cannot be planned without %s; see: %s --help", strings.Join(names, ", "), c.CommandPath())
}

// strapWays are the ways in which the line is told.
func strapWays(given func(string) bool) (ways []string) {
	for _, name := range []string{"stiffness", "elongation", "curve-file"} {
		if given(name) {
			ways = append(ways, "--"+name)
		}
	}
	return ways
}

// misplaced refuses flags that say nothing without another one, given or known
// otherwise.
func misplaced(given, known func(string) bool) error {
	if ways := strapWays(given); len(ways) > 1 {
		return usagef("%s tell the same line in different ways: give one of them", strings.Join(ways, " and "))
	}
	if given("elongation") && !given("at") && !known("mbs") {
		return usagef("--elongation needs the load at which the strap stretches so far: --at FORCE, or --mbs FORCE for its breaking strength")
	}
	for _, pair := range [][2]string{
		{"elongation", "length"}, {"at", "elongation"}, {"wet-stiffness", "wet"}, {"decimal-comma", "curve-file"},
		{"grip", "drive"}, {"driven", "grip"}, {"moving", "resistance"}, {"stiffening", "attempts"},
	} {
		if given(pair[0]) && !known(pair[1]) {
			return usagef("--%s says nothing without --%s", pair[0], pair[1])
		}
	}
	return nil
}

func readCurve(path string, length unit.Length, decimalComma bool) ([]kinetic.Point, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	points, err := kinetic.ReadPoints(f, length, decimalComma)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return points, nil
}
