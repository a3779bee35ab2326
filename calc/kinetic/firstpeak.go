package kinetic

import (
	"math"

	"tautlog/calc/unit"
)

// FirstPeak is the largest first peak of all attempts, and the speed at which
// the line comes taut: the part of Calculate that a search over speeds needs,
// without following the motion to its end.
func (p Plan) FirstPeak() (peak unit.Force, taut unit.Speed, err error) {
	p = p.completed()
	if err := p.validate(); err != nil {
		return 0, 0, err
	}
	push, err := p.push()
	if err != nil {
		return 0, 0, err
	}
	pull, err := p.pull(push)
	if err != nil {
		return 0, 0, err
	}
	// Straps stiffen from one attempt to the next, so the last peaks highest.
	if pull.Line, err = p.Strap.stiffened(math.Pow(1+p.Stiffening, float64(p.Attempts-1))); err != nil {
		return 0, 0, err
	}
	r, _, err := pull.first()
	return r.Peak, pull.Speed, err
}
