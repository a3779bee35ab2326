package steady

import (
	"math"
	"slices"

	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// ErrPlan says that a pull is described in a way that cannot be calculated.
var ErrPlan error = words.Kind("steady.incalculable")

// Own is a share of the weight that somebody measured, in place of a table.
type Own struct {
	Share Share
	// From says where it comes from: "12 pulls on the river bar, 2026".
	From string
}

// Plan describes a steady pull.
type Plan struct {
	// Mass of the stuck vehicle with its load.
	Mass unit.Mass
	// Surface is what it rolls on. Nil: rolling is not counted.
	Surface *Surface
	// Penetration is how deep the tyres sink in; on firm ground only.
	Penetration unit.Length
	// Mire is how deep the vehicle sits in mud.
	Mire Mire
	// Grade is the slope up which it is pulled, Side the slope across.
	Grade, Side unit.Angle
	// Drag is what damage adds: locked wheels, a dragging axle.
	Drag Load
	// OwnRolling takes the place of the surface's coefficient, OwnMire that
	// of the mire's factor.
	OwnRolling, OwnMire *Own

	Line Line
	// Winch is what hauls. Nil: not known.
	Winch *Winch
}

// What no vehicle and no ground reaches: beyond it a unit was mistaken.
const (
	maxMass  unit.Mass  = 1e6
	maxDrag  unit.Force = 1e8
	maxShare            = 100.0

	maxPenetration unit.Length = 1
)

// Validate refuses a pull that cannot be calculated and names the quantity.
func (p Plan) Validate() error {
	if !(p.Mass > 0 && p.Mass <= maxMass) {
		return words.Error("steady.mass.wrong", ErrPlan, maxMass)
	}
	if err := p.validatePenetration(); err != nil {
		return err
	}
	for name, a := range map[string]unit.Angle{words.Say("steady.grade"): p.Grade, words.Say("steady.side"): p.Side} {
		if !(a >= 0 && a < math.Pi/2) {
			return words.Error("steady.angle.wrong", ErrPlan, name, a)
		}
	}
	if p.Mire != "" && !slices.Contains(Mires(), p.Mire) {
		return words.Error("steady.mire.wrong", ErrPlan, p.Mire)
	}
	if !p.Drag.valid(maxDrag) {
		return words.Error("steady.drag.wrong", ErrPlan, p.Drag.Low, p.Drag.High)
	}
	for name, o := range map[string]*Own{Rolling.Words(): p.OwnRolling, Mired.Words(): p.OwnMire} {
		if o != nil && !o.Share.valid(maxShare) {
			return words.Error("steady.coefficient.wrong", ErrPlan, name, o.Share.Low, o.Share.High)
		}
	}
	return p.Line.validate()
}

func (p Plan) validatePenetration() error {
	firm := p.Surface != nil && p.Surface.Name == firmGround && p.OwnRolling == nil
	switch {
	case !(p.Penetration >= 0 && p.Penetration <= maxPenetration):
		return words.Error("steady.sunk.wrong", ErrPlan, p.Penetration, maxPenetration)
	case p.Penetration > 0 && !firm:
		return words.Error("steady.penetration.wrong", ErrPlan, firmGround)
	}
	return nil
}
