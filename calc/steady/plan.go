package steady

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"tautlog/calc/unit"
)

// ErrPlan says that a pull is described in a way that cannot be calculated.
var ErrPlan = errors.New("cannot calculate this pull")

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
		return fmt.Errorf("%w: the mass of the stuck vehicle, want more than 0 and at most %v", ErrPlan, maxMass)
	}
	if err := p.validatePenetration(); err != nil {
		return err
	}
	for name, a := range map[string]unit.Angle{"grade": p.Grade, "side slope": p.Side} {
		if !(a >= 0 && a < math.Pi/2) {
			return fmt.Errorf("%w: a %s of %v, want 0 to below 90°", ErrPlan, name, a)
		}
	}
	if p.Mire != "" && !slices.Contains(Mires(), p.Mire) {
		return fmt.Errorf("%w: %q is no depth of mire", ErrPlan, p.Mire)
	}
	if !p.Drag.valid(maxDrag) {
		return fmt.Errorf("%w: a drag from %v to %v", ErrPlan, p.Drag.Low, p.Drag.High)
	}
	for name, o := range map[string]*Own{"rolling": p.OwnRolling, "mire": p.OwnMire} {
		if o != nil && !o.Share.valid(maxShare) {
			return fmt.Errorf("%w: %s from %g to %g times the weight", ErrPlan, name, o.Share.Low, o.Share.High)
		}
	}
	return p.Line.validate()
}

func (p Plan) validatePenetration() error {
	firm := p.Surface != nil && p.Surface.Name == firmGround && p.OwnRolling == nil
	switch {
	case !(p.Penetration >= 0 && p.Penetration <= maxPenetration):
		return fmt.Errorf("%w: tyres sunk in by %v, want 0 to %v", ErrPlan, p.Penetration, maxPenetration)
	case p.Penetration > 0 && !firm:
		return fmt.Errorf("%w: the penetration of the tyres adds to %q only; the other surfaces have it in their coefficients", ErrPlan, firmGround)
	}
	return nil
}
