package shock

import (
	"math"

	"tautlog/calc/unit"
)

// swing is one pull as the speed fit sees it: all in natural logarithms, so
// that trying coefficients costs little.
//
// With no drive the peak at an end that does not move is S = v·√(k·m1), and
// the peak against a resistance R, which the formulas of kinetic.Closed then
// come to with a = m1/(m1+m2), is
//
//	F = a·R + √((1−a)·(S² − a·R²)) where R < S, and S otherwise.
type swing struct {
	strap, ground int
	fixed         float64 // S over the weight of the stuck vehicle, for a strap of coefficient 1
	share         float64 // a
}

func (p Pull) swing(strap, ground int) swing {
	s := float64(p.Speed) * math.Sqrt(float64(p.StrapMBS)/float64(p.StrapLength)*float64(p.Puller))
	return swing{strap, ground, math.Log(p.relative(unit.Force(s))), float64(p.Puller) / float64(p.Puller+p.Reference)}
}

// peak is the peak over the weight. strap and ground are the coefficients;
// a ground of +Inf holds whatever comes.
func (s swing) peak(strap, ground float64) float64 {
	peak, _ := s.sloped(strap, ground)
	return peak
}

// sloped is peak with its slope against the coefficient of the ground.
func (s swing) sloped(strap, ground float64) (peak, slope float64) {
	top := s.fixed + strap/2
	if ground >= top {
		return top, 0
	}
	a, held := s.share, math.Exp(ground-top)
	root := math.Sqrt((1 - a) * (1 - a*held*held))
	f := a*held + root
	return top + math.Log(f), a * held * (1 - (1-a)*held/root) / f
}

// holding is R/S for F/S = f, both as in swing, with its slope; at the very
// ends, where one of them has none, the nearest that has both.
func holding(a, f float64) (held, slope float64) {
	const end = 1e-12
	root := math.Sqrt((1 - a) * math.Max(end, 1-f*f) / a)
	return math.Max(end, f-root), 1 + (1-a)/a*f/root
}
