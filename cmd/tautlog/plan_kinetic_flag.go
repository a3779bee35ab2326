package main

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/spf13/pflag"

	"tautlog/calc/unit"
)

func (p *kineticPlan) add(f *pflag.FlagSet) {
	plan := &p.plan
	f.Var(&quantityFlag[unit.Mass]{kind: "mass", value: &plan.Puller, parse: unit.ParseMass, positive: true}, "puller", "`mass` of the pulling vehicle as it is loaded")
	f.Var(&quantityFlag[unit.Mass]{kind: "mass", value: &plan.Stuck, parse: unit.ParseMass, positive: true}, "stuck", "`mass` of the stuck vehicle as it is loaded")
	f.Var(&quantityFlag[unit.Force]{kind: "force", value: &plan.Resistance, parse: unit.ParseForce}, "resistance", "`force` that holds the stuck vehicle and slows it once it moves; otherwise it does not move")
	f.Var(&quantityFlag[unit.Force]{kind: "force", value: &plan.Moving, parse: unit.ParseForce, positive: true}, "moving", "`force` that slows the stuck vehicle once it moves, where it is less than the resistance")
	p.addStrap(f)
	p.addRunUp(f)
	f.IntVar(&plan.Attempts, "attempts", 1, "`number` of pulls, one after the other")
	f.Var(&quantityFlag[float64]{kind: "share", value: &plan.Stiffening, parse: unit.ParseShare}, "stiffening", "`share` by which the strap stiffens with each attempt, as you know it, as 5%")
	f.Var(massesFlag{&plan.Parts}, "part-mass", "`mass` of a part that might let go; may be given again; otherwise 1, 3 and 5 kg")
	f.Var(&quantityFlag[float64]{kind: "number", value: &plan.KeepOut, parse: parseNumber, positive: true}, "keep-out-factor", "`number` of line lengths that people keep away; otherwise 1.5")
	f.Var(unitFlag{&p.show}, "show", "`unit` in which to write forces: kN, t, kgf, lbf, N")
}

func (p *kineticPlan) addStrap(f *pflag.FlagSet) {
	s := &p.plan.Strap
	f.Var(&quantityFlag[unit.Stiffness]{kind: "stiffness", value: &s.Stiffness, parse: unit.ParseStiffness, positive: true}, "stiffness", "`stiffness` of the line: force per stretch, as 60kN/m")
	f.Var(&quantityFlag[unit.Length]{kind: "length", value: &s.Length, parse: unit.ParseLength, positive: true}, "length", "`length` of the line, unstretched")
	f.Var(&quantityFlag[unit.Force]{kind: "force", value: &s.MBS, parse: unit.ParseForce, positive: true}, "mbs", "`force` that is the line's minimum breaking strength, new and dry")
	f.Var(&quantityFlag[float64]{kind: "share", value: &s.Elongation, parse: unit.ParseShare, positive: true}, "elongation", "`share` of its length by which the line stretches, as 20%")
	f.Var(&quantityFlag[unit.Force]{kind: "force", value: &s.At, parse: unit.ParseForce, positive: true}, "at", "`force` at which it stretches so far; otherwise its breaking strength")
	f.StringVar(&p.curveFile, "curve-file", "", "`file` with a measured loading curve, as CSV")
	f.BoolVar(&p.comma, "decimal-comma", false, "the curve file has a decimal comma")
	f.Var(&quantityFlag[float64]{kind: "share", value: &s.Loss, parse: unit.ParseShare}, "loss", "`share` of the work of stretching that the line does not give back, as you measured it, as 30%")
	f.BoolVar(&s.Wet, "wet", false, "the line is wet nylon: 15% weaker (UFC 4-159-03)")
	f.Var(&quantityFlag[float64]{kind: "share", value: &s.WetStiffness, parse: unit.ParseShare, positive: true}, "wet-stiffness", "`share` of its dry stiffness that the wet line has, as you measured it, as 110%")
}

func (p *kineticPlan) addRunUp(f *pflag.FlagSet) {
	plan := &p.plan
	f.Var(&quantityFlag[unit.Speed]{kind: "speed", value: &plan.Speed, parse: unit.ParseSpeed}, "speed", "`speed` of the puller when the line comes taut; with --slack: when the slack begins to run out")
	f.Var(&quantityFlag[unit.Length]{kind: "length", value: &plan.Slack, parse: unit.ParseLength}, "slack", "`way` that the puller runs before the line is taut")
	f.Var(&quantityFlag[unit.Force]{kind: "force", value: &plan.Drive, parse: unit.ParseForce}, "drive", "`force` with which the puller's wheels push on; otherwise none")
	f.Var(&quantityFlag[float64]{kind: "number", value: &p.grip.Coefficient, parse: parseNumber, positive: true}, "grip", "`coefficient` of friction between the puller's tyres and the ground, your own number, as 0.6")
	f.Var(&quantityFlag[float64]{kind: "share", value: &p.grip.Driven, parse: unit.ParseShare, positive: true}, "driven", "`share` of the puller's weight on its driven wheels; otherwise all of it")
	f.Var(slopeFlag{&plan.Slope}, "slope", "`slope` of the puller's ground up which it drives, as 5deg or 9%; below zero down it, as --slope=-5deg")
	f.Var(&quantityFlag[unit.Force]{kind: "force", value: &plan.Rolling, parse: unit.ParseForce}, "rolling", "`force` of the puller's own resistance to rolling; otherwise none")
}

// massesFlag is a flag that may be given several times, each with a mass.
type massesFlag struct{ masses *[]unit.Mass }

// Set adds a mass.
func (m massesFlag) Set(s string) error {
	one := &quantityFlag[unit.Mass]{kind: "mass", value: new(unit.Mass), parse: unit.ParseMass, positive: true}
	err := one.Set(s)
	if err == nil {
		*m.masses = append(*m.masses, *one.value)
	}
	return err
}

// String is empty: the default is said in the help.
func (m massesFlag) String() string { return "" }

// Type names the kind of value.
func (m massesFlag) Type() string { return "mass" }

// slopeFlag is a flag whose value is a slope, up or down.
type slopeFlag struct{ slope *unit.Angle }

// Set reads the slope.
func (f slopeFlag) Set(s string) (err error) { *f.slope, err = unit.ParseGrade(s); return err }

// String is empty: there is no default.
func (f slopeFlag) String() string { return "" }

// Type names the kind of value.
func (f slopeFlag) Type() string { return "slope" }

// parseNumber reads a plain number.
func parseNumber(s string) (float64, error) {
	v, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, fmt.Errorf("%q is not a plain decimal number", s)
	}
	return v, nil
}
