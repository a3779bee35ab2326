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
	// All attempts of a line that does not stiffen are alike. Of one that does
	// the last is not always the hardest: a measured line, stiffer, can stay
	// clear of the steep end of its curve.
	n := 0
	if p.Stiffening == 0 {
		n = p.Attempts - 1
	}
	for ; n < p.Attempts; n++ {
		if pull.Line, err = p.Strap.stiffened(math.Pow(1+p.Stiffening, float64(n))); err != nil {
			return 0, 0, err
		}
		r, _, err := pull.first()
		if err != nil {
			return 0, 0, err
		}
		peak = max(peak, r.Peak)
	}
	return peak, pull.Speed, nil
}
