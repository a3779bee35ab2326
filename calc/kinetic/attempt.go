package kinetic

import (
	"errors"
	"math"

	"tautlog/calc/unit"
)

// Followed is for how many seconds after the line came taut a planned pull is
// followed: longer than a stuck vehicle that does not come out keeps moving.
const Followed = 10.0

// Attempt is one of several pulls alike. Between them the puller comes back
// for the same run-up.
type Attempt struct {
	Stiffer float64    // times the force of the strap in the first attempt, at the same stretch
	Peak    unit.Force // the first and normally the largest
	Moves   bool       // whether the stuck vehicle moves before the first peak
	// Way of the stuck vehicle until it stands for good, the driver driving
	// on, or until Followed. Nil: the motion could not be followed.
	Way *unit.Length
	// Stops is false where the stuck vehicle still moves then: it comes out,
	// as far as this plan knows.
	Stops bool
}

// repeat works out the attempts, and follows the first through its rebounds.
func (o *Outcome) repeat(p Plan) error {
	first := Attempt{Stiffer: 1, Peak: o.Peak, Moves: o.Moves}
	peaks, err := first.follow(o.Pull)
	if err != nil {
		return err
	}
	o.Hardest = o.Peak
	for _, peak := range peaks {
		o.Hardest = max(o.Hardest, peak.Force)
	}
	if o.Pull.Line.Loss > 0 && len(peaks) > 0 {
		o.Rebounds = peaks[1:]
	}
	o.Attempts = []Attempt{first}
	for n := 1; n < p.Attempts; n++ {
		next := first
		if p.Stiffening > 0 {
			if next, err = o.again(p, math.Pow(1+p.Stiffening, float64(n))); err != nil {
				return err
			}
		}
		o.Attempts = append(o.Attempts, next)
	}
	return nil
}

// again is the pull with a strap that has stiffened.
func (o *Outcome) again(p Plan, stiffer float64) (Attempt, error) {
	pull := o.Pull
	var err error
	if pull.Line, err = p.Strap.stiffened(stiffer); err != nil {
		return Attempt{}, err
	}
	r, _, err := pull.first()
	if err != nil {
		return Attempt{}, err
	}
	a := Attempt{Stiffer: stiffer, Peak: r.Peak, Moves: r.Moves}
	_, err = a.follow(pull)
	return a, err
}

// follow finds how far the stuck vehicle goes, and all peaks.
func (a *Attempt) follow(p Pull) ([]Peak, error) {
	m, err := Solve(p, Options{Until: Followed, Tolerance: 1e-8})
	switch {
	case errors.Is(err, ErrSteps):
		return nil, nil
	case err != nil:
		return nil, err
	}
	a.Way, a.Stops = &m.Way, m.Dragged == 0
	return m.Peaks, nil
}
