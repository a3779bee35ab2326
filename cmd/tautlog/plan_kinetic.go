package main

import (
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
		Long: `Calculates the peak of a kinetic pull from the masses, the speed at which the line comes taut and the line's
stiffness: two bodies, a linear line without loss, and a stuck vehicle that moves only while the line pulls harder than
its resistance. Without --resistance the stuck vehicle does not move at all, which gives the highest peak.

Quantities have a unit: 2800kg, 3.2t, 8km/h, 60kN/m, 12kN.`,
		Example: "  tautlog plan kinetic --puller 2800kg --stuck 3200kg --speed 8km/h --stiffness 60kN/m --resistance 12kN",
		Args:    noArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			if err := p.calculate(c.CommandPath()); err != nil {
				return err
			}
			if asJSON {
				return p.writeJSON(c.OutOrStdout())
			}
			return p.writeText(c.OutOrStdout())
		},
	}
	p.add(c.Flags())
	c.Flags().BoolVar(&asJSON, "json", false, "print one JSON document")
	return c
}

// kineticPlan is a planned pull and what it comes to.
type kineticPlan struct {
	pull       kinetic.Pull
	stiffness  unit.Stiffness
	resistance *quantityFlag[unit.Force]
	required   []func() string // each names a flag that is missing, or nothing
	show       unit.ForceUnit

	result kinetic.Result
	held   kinetic.Result // the same pull if the stuck vehicle did not move
}

func (p *kineticPlan) calculate(command string) (err error) {
	var missing []string
	for _, m := range p.required {
		if name := m(); name != "" {
			missing = append(missing, name)
		}
	}
	if len(missing) > 0 {
		return usagef("a kinetic pull cannot be planned without %s; see: %s --help", strings.Join(missing, ", "), command)
	}
	p.pull.Line.Curve = kinetic.Linear(p.stiffness)
	held := p.pull
	held.Fixed = true
	if p.held, err = kinetic.Closed(held); err != nil {
		return err
	}
	p.pull.Fixed = !p.resistance.given
	p.result, err = kinetic.Closed(p.pull)
	return err
}

// multiplier is the peak over the stuck vehicle's weight.
func (p *kineticPlan) multiplier() float64 {
	return float64(p.result.Peak) / float64(p.pull.Stuck.Weight())
}

const multiplierOf = "stuck vehicle's weight"
