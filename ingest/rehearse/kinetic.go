package rehearse

import (
	"math/rand/v2"

	"tautlog/calc/kinetic"
)

// Kinetic is a kinetic pull as package kinetic works it out: from the line
// coming taut through the peak, the slack and the rebounds, until both
// vehicles stand or Seconds are over. What tension is left then is let off by
// the driver within LetOff seconds.
type Kinetic struct {
	Pull    kinetic.Pull
	Seconds float64 // of motion; 6 when 0
	LetOff  float64 // 1 when 0
}

// Render works out the motion. Nothing in it is left to chance.
func (k Kinetic) Render(*rand.Rand) (Track, error) {
	var t Track
	taut := 0 // number of knots up to the last one with force
	m, err := kinetic.Solve(k.Pull, kinetic.Options{
		Until: orElse(k.Seconds, 6), Interval: trackStep,
		Each: func(s kinetic.Sample) {
			t.knots = append(t.knots, knot{at: s.At, force: float64(s.Force), straight: true})
			if s.Force > 0 {
				taut = len(t.knots)
			}
		},
	})
	if err != nil {
		return Track{}, err
	}
	if taut < len(t.knots) { // slack at the end
		t.knots = t.knots[:taut+1]
		return t, nil
	}
	t.knots = append(t.knots, knot{at: m.Ended + orElse(k.LetOff, 1)})
	return t, nil
}

// orElse is v, or what stands for its zero value.
func orElse(v, otherwise float64) float64 {
	if v == 0 {
		return otherwise
	}
	return v
}
