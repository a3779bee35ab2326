package plan

import (
	"math"

	"tautlog/analysis/pull"
	"tautlog/calc/unit"
)

// Where Highest looks: up to Fastest, first in steps, then between two of them
// down to the tolerance. People run up at walking pace or a little more; beyond
// Fastest nobody would.
const (
	Fastest   = unit.Speed(40 / 3.6)
	step      = Fastest / 20
	tolerance = unit.Speed(1e-6)
)

// Basis says how the upper bound of the peak depends on speed.
type Basis string

// The bases.
const (
	FromFit    Basis = "fit by speed" // its bound, and never less than the model
	FromClass  Basis = "scaled model" // the model times bound over median of the class
	FromNobody Basis = "none"         // an assumed multiplier knows no uncertainty
)

// Highest is how fast the puller may be before the first item of the rig
// reaches a limit.
type Highest struct {
	// Largest is the force at which that is.
	Largest Largest
	// Expected is the speed at which the expected peak gets there, Upper the
	// one at which its upper bound does. Upper is nil where no uncertainty is
	// known; see Basis.
	Expected Reached
	Upper    *Reached
	Basis    Basis
	// Assumed is the peak by an assumed multiplier, which is the same at every
	// speed; nil where none is assumed.
	Assumed *unit.Force
	// Text says it in sentences.
	Text []string
}

// Reached is the speed at which the force of Largest is reached.
type Reached struct {
	// Speed is the highest at which it is not exceeded, as Plan.Speed has it.
	// It is Fastest where there is none up to there.
	Speed unit.Speed
	// Never says that there is no such speed up to Fastest, Already that the
	// force is exceeded even from standstill.
	Never, Already bool
}

func (p *prepared) highest() (h Highest, err error) {
	if h.Largest, err = LargestPull(*p.k.Rig, p.at, pull.Kinetic, p.k.Unit); err != nil {
		return h, err
	}
	expected, upper, basis := p.bySpeeds()
	h.Basis = basis
	if e, ok := p.byMultiplier(); ok && e.From == ByWord && basis == FromNobody {
		h.Assumed = e.Upper
	}
	if h.Largest.Limited() {
		if h.Expected, err = reach(expected, h.Largest.Force); err != nil {
			return h, err
		}
		if upper != nil {
			r, err := reach(upper, h.Largest.Force)
			if err != nil {
				return h, err
			}
			h.Upper = &r
		}
	}
	h.Text, err = p.highestText(h)
	return h, err
}

// peakAt is a peak that rises with speed.
type peakAt func(unit.Speed) (unit.Force, error)

// bySpeeds gives the expected peak and its upper bound as functions of speed.
func (p *prepared) bySpeeds() (expected, upper peakAt, basis Basis) {
	model := func(v unit.Speed) (unit.Force, error) {
		m, err := p.model(v)
		return m.worst, err
	}
	if e, ok := p.bySpeed(worst(p.out)); ok && e.Upper != nil {
		return p.fitted(false), p.fitted(true), FromFit
	}
	if m := p.multiplier.Median; m != nil && p.multiplier.Fitted {
		times := unit.Force(p.multiplier.Upper / *m)
		return model, func(v unit.Speed) (unit.Force, error) {
			f, err := model(v)
			return times * f, err
		}, FromClass
	}
	return model, nil, FromNobody
}

// fitted is what the fit by speed expects, or its bound, which is never below
// the model.
func (p *prepared) fitted(bound bool) peakAt {
	return func(v unit.Speed) (unit.Force, error) {
		m, err := p.model(v)
		if err != nil {
			return 0, err
		}
		expected, upper, err := p.fit.Peak(p.logged(m.taut))
		if err != nil || !bound {
			return expected, err
		}
		return max(*upper, m.worst), nil
	}
}

// reach finds the highest speed at which a peak does not exceed the force. It
// looks step by step for the first bracket, at whose lower end the peak is not
// above the force and at whose upper end it is, and halves it.
func reach(peak peakAt, f unit.Force) (Reached, error) {
	above := func(v unit.Speed) (bool, error) {
		got, err := peak(v)
		return got > f || math.IsNaN(float64(got)), err
	}
	low := unit.Speed(0)
	if over, err := above(low); over || err != nil {
		return Reached{Already: over}, err
	}
	high := step
	for ; ; low, high = high, high+step {
		if high > Fastest+step/2 {
			return Reached{Speed: Fastest, Never: true}, nil
		}
		if over, err := above(high); err != nil {
			return Reached{}, err
		} else if over {
			break
		}
	}
	for high-low > tolerance {
		middle := (low + high) / 2
		over, err := above(middle)
		if err != nil {
			return Reached{}, err
		}
		if over {
			high = middle
		} else {
			low = middle
		}
	}
	return Reached{Speed: low}, nil
}
