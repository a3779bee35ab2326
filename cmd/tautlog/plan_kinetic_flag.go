package main

import (
	"github.com/spf13/pflag"

	"tautlog/calc/unit"
)

func (p *kineticPlan) add(f *pflag.FlagSet) {
	required(f, p, "puller", "`mass` of the pulling vehicle as it is loaded", &quantityFlag[unit.Mass]{kind: "mass", value: &p.pull.Puller, parse: unit.ParseMass, positive: true})
	required(f, p, "stuck", "`mass` of the stuck vehicle as it is loaded", &quantityFlag[unit.Mass]{kind: "mass", value: &p.pull.Stuck, parse: unit.ParseMass, positive: true})
	required(f, p, "speed", "`speed` of the puller when the line comes taut", &quantityFlag[unit.Speed]{kind: "speed", value: &p.pull.Speed, parse: unit.ParseSpeed})
	required(f, p, "stiffness", "`stiffness` of the line: force per stretch, as 60kN/m", &quantityFlag[unit.Stiffness]{kind: "stiffness", value: &p.stiffness, parse: unit.ParseStiffness, positive: true})
	p.resistance = &quantityFlag[unit.Force]{kind: "force", value: &p.pull.Resistance, parse: unit.ParseForce}
	f.Var(p.resistance, "resistance", "`force` that holds the stuck vehicle and slows it once it moves; otherwise it does not move")
	f.Var(&quantityFlag[unit.Force]{kind: "force", value: &p.pull.Drive, parse: unit.ParseForce}, "drive", "`force` with which the puller's wheels push on after the line is taut; otherwise none")
	f.Var(unitFlag{&p.show}, "show", "`unit` in which to write forces: kN, t, kgf, lbf, N")
}

// required defines a flag that must be given.
func required[T ~float64](f *pflag.FlagSet, p *kineticPlan, name, usage string, q *quantityFlag[T]) {
	f.Var(q, name, usage)
	p.required = append(p.required, func() string {
		if q.given {
			return ""
		}
		return "--" + name
	})
}
