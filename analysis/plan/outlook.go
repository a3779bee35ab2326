package plan

import (
	"tautlog/analysis/rating"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
)

// Pull is a pull of a known force on a rig.
type Pull struct {
	Rig rig.Rig
	// Force is what the line pulls with: Value is the likely force, High the one
	// to plan with.
	Force rating.Peak
	// At is the place of the rig that the force is at; empty is the line as it is
	// hauled (see rig.LinePlaces).
	At string
	// Unit is the unit in which sentences are written; empty is kN.
	Unit unit.ForceUnit
}

// Outlook is how a rig would fare in a planned pull.
type Outlook struct {
	Rig rig.Rig
	// Result is the verdict on every item: at the likely force, and at the one
	// to plan with.
	Result rating.Result
	// Largest is how hard the line may pull instead.
	Largest Largest
	// Forks are the bridles of the rig.
	Forks []Fork
}

// Outlook holds the pull against the rig. It is an error where the rig cannot
// be solved.
func (p Pull) Outlook() (Outlook, error) {
	res, err := rating.JudgePlanned(p.Force, p.Rig, p.At, p.Unit)
	if err != nil {
		return Outlook{}, err
	}
	largest, err := LargestPull(p.Rig, p.At, p.Force.Kind, p.Unit)
	return Outlook{p.Rig, res, largest, forks(p.Rig, res)}, err
}
