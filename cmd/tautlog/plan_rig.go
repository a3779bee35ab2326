package main

import (
	"bufio"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"tautlog/analysis/plan"
	"tautlog/analysis/pull"
	"tautlog/analysis/rating"
	"tautlog/calc/unit"
)

// newPlanRig says what a pull of a given force would ask of a rig.
func newPlanRig() *cobra.Command {
	p := &rigPlan{pull: quantityFlag[unit.Force]{kind: "force", parse: unit.ParseForce, positive: true}, high: quantityFlag[unit.Force]{kind: "force", parse: unit.ParseForce, positive: true}}
	asJSON := false
	c := &cobra.Command{
		Use:   "rig --rig FILE --pull FORCE",
		Short: "What each item of a rig would carry, and at what pull the first limit is reached",
		Long: `Says what each item of a rig would carry for a given pull of the line and how that compares with its rating, the
worst first; and at which pull of the line the first item reaches its limit.

FILE is a JSON description of the rig, as for tautlog judge, but it needs no load cell. The pull is that of the line as
it is hauled: in the hauled part of a tackle, or at the end with the winch. With --high the pull is a range, and what to
plan with is its high end. Shares are static.`,
		Example: "  tautlog plan rig --rig RIG.json --pull 40kN --high 55kN --kind kinetic",
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
	p.pull.value, p.high.value = &p.force.Value, &p.force.High
	f := c.Flags()
	f.StringVar(&p.file, "rig", "", "`file` that describes the rig, as JSON")
	f.Var(&p.pull, "pull", "`force` with which the line pulls")
	f.Var(&p.high, "high", "`force` that it may reach; otherwise the same")
	f.Var(kindFlag{&p.force.Kind}, "kind", "`kind` of pull: kinetic, steady or proof; otherwise no gear is refused for it")
	p.day.add(f)
	f.Var(unitFlag{&p.show}, "show", "`unit` in which to write forces: kN, t, kgf, lbf, N")
	f.BoolVar(&asJSON, "json", false, "print one JSON document")
	p.show = unit.DefaultShown
	return c
}

// rigPlan is a rig and the pull that is planned with it.
type rigPlan struct {
	file       string
	pull, high quantityFlag[unit.Force]
	force      rating.Peak
	day        dayFlag
	show       unit.ForceUnit

	outlook plan.Outlook
}

func (p *rigPlan) calculate(command string) error {
	switch {
	case p.file == "":
		return usagef("what is planned with? Add --rig FILE; see: %s --help", command)
	case !p.pull.given:
		return usagef("how hard does the line pull? Add --pull FORCE; see: %s --help", command)
	case p.high.given && p.force.High < p.force.Value:
		return usagef("--high %v is below --pull %v", p.force.High, p.force.Value)
	case p.high.given:
		p.force.Low = p.force.Value
	}
	p.force.On = p.day.on()
	r, err := readPlannedRig(p.file)
	if err != nil {
		return err
	}
	p.outlook, err = plan.Pull{Rig: r, Force: p.force, Unit: p.show}.Outlook()
	return err
}

func (p *rigPlan) writeJSON(w io.Writer) error {
	return writeJSON(w, struct {
		Pull float64   `json:"pull_N"`
		High float64   `json:"pull_high_N"`
		Kind pull.Kind `json:"kind,omitempty"`
		Rig  rigRecord `json:"rig"`
		plan.OutlookRecord
		Cautions []rating.Caution `json:"cautions"`
	}{
		float64(p.force.Value), float64(max(p.force.Value, p.force.High)), p.force.Kind,
		rigDocument(p.outlook.Rig, p.outlook.Result.Remarks), p.outlook.Record(), rating.Cautions(),
	})
}

func (p *rigPlan) writeText(w io.Writer) error {
	out := &lines{w: bufio.NewWriter(w)}
	pulls := p.force.Value.Show(p.show, 0)
	if p.high.given {
		pulls += ", up to " + p.force.High.Show(p.show, 0)
	}
	out.say(0, "A planned pull of %s on the line.", pulls)
	if p.show == unit.TonneF {
		out.say(0, "t is tonne-force.")
	}
	out.outlook(p.outlook, p.show)
	out.gap()
	out.say(0, "To know:")
	if p.force.Kind == "" {
		out.say(2, "The kind of pull is not given: whether an item belongs in it is not judged. Add --kind.")
	}
	for _, r := range p.outlook.Result.Remarks {
		out.say(2, "%s", r)
	}
	return out.end()
}

// kindFlag is a flag whose value is a kind of pull.
type kindFlag struct{ kind *pull.Kind }

// Set reads the kind.
func (f kindFlag) Set(s string) error {
	switch k := pull.Kind(s); k {
	case pull.Kinetic, pull.Steady, pull.Proof:
		*f.kind = k
		return nil
	}
	return fmt.Errorf("%q is not a kind of pull: write %s, %s or %s", s, pull.Kinetic, pull.Steady, pull.Proof)
}

// String prints the kind.
func (f kindFlag) String() string {
	if f.kind == nil {
		return ""
	}
	return string(*f.kind)
}

// Type names the kind of value.
func (f kindFlag) Type() string { return "kind" }
