package main

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"tautlog/calc/steady"
	"tautlog/calc/unit"
)

// newPlanSteady calculates a steady pull.
func newPlanSteady() *cobra.Command {
	p := &steadyPlan{show: unit.DefaultShown, rated: &quantityFlag[unit.Force]{kind: "force"}, layer: 1}
	asJSON := false
	c := &cobra.Command{
		Use:     "steady --mass MASS --surface NAME",
		Short:   "Resistance of a stuck vehicle, and the line, anchor and winch for it",
		Long:    steadyLong(),
		Example: "  tautlog plan steady --mass 3200kg --surface sand --mire wheel --grade 10deg --parts 2 --winch 4t --layer 3",
		Args:    noArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			if err := p.calculate(c); err != nil {
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

// steadyLong explains the command and lists the surfaces with what the
// sources say of them.
func steadyLong() string {
	var b strings.Builder
	b.WriteString(`Adds up what resists a stuck vehicle (rolling, grade, mire, drag), and calculates what that asks of the line, the
anchor, the blocks and the winch. Each part is a range where its sources give one, and says where it comes from. What
was recalled and not read in its source says FROM MEMORY. With --rig every item of the gear is judged at the high end of
the pull in the hauled part of the line.

Quantities have a unit: 3200kg, 3.2t, 10deg, 12kN, 3in. Some may be a range: 3kN..5kN, 4%..6%.

Surfaces, with the share of the weight that rolling takes:
`)
	for _, s := range steady.Surfaces() {
		fmt.Fprintf(&b, "  %-26s%s\n", s.Name, strings.TrimSuffix(percentRange(s.Coefficient()), "."))
	}
	return b.String()
}

func percentRange(s steady.Share) string {
	percent := func(v float64) string { return strconv.FormatFloat(100*v, 'g', 3, 64) }
	if s.Wide() {
		return percent(s.Low) + " to " + percent(s.High) + " %"
	}
	return percent(s.Likely) + " %"
}

// steadyPlan is a planned pull and what it comes to.
type steadyPlan struct {
	plan     steady.Plan
	rated    *quantityFlag[unit.Force]
	winch    steady.Winch
	layer    layerFlag
	loss     steady.Share
	ownShare struct{ rolling, mire steady.Share }
	ownFrom  string
	show     unit.ForceUnit
	rig      steadyRig

	result steady.Result
}

func (p *steadyPlan) add(f *pflag.FlagSet) {
	p.plan.Mire = steady.NoMire
	f.Var(&quantityFlag[unit.Mass]{kind: "mass", value: &p.plan.Mass, parse: unit.ParseMass, positive: true}, "mass", "`mass` of the stuck vehicle as it is loaded")
	f.Var(surfaceFlag{&p.plan.Surface}, "surface", "`name` of the surface that it rolls on, from the list above")
	f.Var(&quantityFlag[unit.Length]{kind: "length", value: &p.plan.Penetration, parse: unit.ParseLength}, "penetration", "`depth` to which the tyres sink into firm ground")
	f.Var(mireFlag{&p.plan.Mire}, "mire", "`depth` to which the vehicle sits in mud: none, wheel, fender, cab")
	f.Var(&quantityFlag[unit.Angle]{kind: "grade", value: &p.plan.Grade, parse: unit.ParseGrade}, "grade", "`slope` up which it is pulled, as 10deg or 18%; pull down a slope as on the level")
	f.Var(&quantityFlag[unit.Angle]{kind: "slope", value: &p.plan.Side, parse: unit.ParseGrade}, "side-slope", "`slope` across the pull, as 10deg or 18%")
	f.Var(rangeFlag[unit.Force]{"force", &p.plan.Drag, unit.ParseForce}, "drag", "`force` that damage adds, as 3kN or 3kN..5kN")
	f.IntVar(&p.plan.Line.Parts, "parts", 1, "`number` of line parts that pull at the vehicle")
	f.IntVar(&p.plan.Line.Sheaves, "sheaves", 0, "`number` of sheaves that the line runs over; otherwise as many as the parts and redirects need")
	f.Var(rangeFlag[float64]{"share", &p.loss, unit.ParseShare}, "sheave-loss", "`share` of the line pull that a sheave takes, as measured, as 7%; otherwise the army's 10% of the resistance")
	f.Var(anglesFlag{&p.plan.Line.Redirects}, "redirect", "`angle` between the two lines at a block that redirects the line; once for each")
	f.IntVar(&p.plan.Line.AnchorLines, "anchor-lines", 0, "`number` of line parts that the anchor holds; otherwise all")
	p.rated.value, p.rated.parse, p.rated.positive = &p.winch.Rated, unit.ParseForce, true
	f.Var(p.rated, "winch", "`force` that the winch is rated for with one layer on the drum")
	f.Var(&p.layer, "layer", "`layer` of line on the drum, or full")
	f.Var(rangeFlag[float64]{"share", &p.ownShare.rolling, unit.ParseShare}, "own-rolling", "`share` of the weight that rolling took where it was measured, in place of the table, as 4% or 4%..6%")
	f.Var(rangeFlag[float64]{"share", &p.ownShare.mire, unit.ParseShare}, "own-mire", "`share` of the weight that mire took where it was measured, as 80%..140%")
	f.StringVar(&p.ownFrom, "own-from", "", "`words` that say where the own measurements come from")
	f.StringVar(&p.rig.file, "rig", "", "`file` that describes the rig, as JSON: it says how the line is laid, the mass where none is given, and every item is judged")
	f.Var(unitFlag{&p.show}, "show", "`unit` in which to write forces: kN, t, kgf, lbf, N")
}

func (p *steadyPlan) calculate(c *cobra.Command) (err error) {
	changed := c.Flags().Changed
	if err := p.rig.read(c, &p.plan); err != nil {
		return err
	}
	if p.plan.Mass == 0 {
		return usagef("a steady pull cannot be planned without --mass; see: %s --help", c.CommandPath())
	}
	if changed("own-rolling") {
		p.plan.OwnRolling = &steady.Own{Share: p.ownShare.rolling, From: p.ownFrom}
	}
	if changed("own-mire") {
		p.plan.OwnMire = &steady.Own{Share: p.ownShare.mire, From: p.ownFrom}
	}
	if p.plan.Surface == nil && p.plan.OwnRolling == nil && p.plan.OwnMire == nil && p.plan.Mire == steady.NoMire {
		return usagef("what does the vehicle stand on? Add --surface NAME, or --mire or --own-rolling; the surfaces are listed by: %s --help", c.CommandPath())
	}
	if changed("layer") && !p.rated.given {
		return usagef("--layer is for a winch: add --winch FORCE")
	}
	if changed("anchor-lines") && p.plan.Line.AnchorLines < 1 {
		return usagef("an anchor that holds no line carries nothing: leave out --anchor-lines")
	}
	if err := p.lay(changed); err != nil {
		return err
	}
	if p.result, err = steady.Calculate(p.plan); errors.Is(err, steady.ErrPlan) {
		return usagef("%v", err)
	}
	if err != nil {
		return err
	}
	return p.rig.judge(p.result.Line, p.show)
}

// lay completes the line and the winch.
func (p *steadyPlan) lay(changed func(string) bool) error {
	if !changed("sheaves") && p.rig.rig == nil {
		p.plan.Line.Sheaves = max(0, steady.UsualSheaves(p.plan.Line.Parts, len(p.plan.Line.Redirects)))
	}
	if changed("sheave-loss") {
		if p.loss.Wide() {
			return usagef("--sheave-loss is one share, such as 7%%, not a range")
		}
		p.plan.Line.Loss = &p.loss.Likely
	}
	if p.rated.given {
		p.winch.Layer = int(p.layer)
		p.plan.Winch = &p.winch
	}
	return nil
}
