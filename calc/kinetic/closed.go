package kinetic

import (
	"math"

	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Closed gives the first peak by formula, for a linear line without loss and
// a driver who changes nothing before the peak.
//
// While the stuck vehicle stands, the puller swings on the line about the
// stretch at which the line balances the drive:
//
//	Fpeak = T + √(T² + k·m1·v²)
//
// It stands until F = R, at the stretch x_R = R/k, where the puller still has
//
//	v_R² = v² + (2·T·x_R − k·x_R²)/m1
//
// From there the two move against each other like one body of the reduced
// mass μ = m1·m2/(m1+m2) about Fc = μ·(T/m1 + R/m2):
//
//	Fpeak = Fc + √((Fc − R)² + k·μ·v_R²)
//
// Elementary mechanics of two bodies and a spring; each line follows from the
// energy of one undamped swing.
func Closed(p Pull) (Result, error) {
	if err := p.Validate(); err != nil {
		return Result{}, err
	}
	if !p.hasFormula() {
		return Result{}, words.Error("kinetic.formula.linear", ErrPull)
	}
	k := p.Line.Curve.(Linear)
	peak, at := standing(p, float64(k))
	moves := !p.Fixed && peak > float64(p.Resistance)
	if moves {
		peak, at = moving(p, float64(k))
	}
	x := peak / float64(k)
	return Result{
		Peak: unit.Force(peak), PeakAt: at, Stretch: unit.Length(x),
		Energy: peak * x / 2, Moves: moves,
	}, nil
}

// hasFormula tells whether Closed knows the pull.
func (p Pull) hasFormula() bool {
	_, linear := p.Line.Curve.(Linear)
	steady := p.Brake == 0 && len(p.Changes) == 0 && (p.Moving == 0 || p.Moving == p.Resistance)
	return linear && p.Line.Loss == 0 && steady
}

// standing is the peak and its time while the stuck end does not move.
func standing(p Pull, k float64) (peak, at float64) {
	t, m := float64(p.Drive), float64(p.Puller)
	swing := float64(p.Speed) * math.Sqrt(k*m) // peak without drive
	if swing == 0 && t == 0 {
		return 0, 0
	}
	return t + math.Hypot(t, swing), (math.Pi/2 + math.Atan2(t, swing)) * math.Sqrt(m/k)
}

// moving is the peak and its time where the stuck vehicle begins to move
// before the peak.
func moving(p Pull, k float64) (peak, at float64) {
	t, r := float64(p.Drive), float64(p.Resistance)
	m1, m2 := float64(p.Puller), float64(p.Stuck)
	swing := float64(p.Speed) * math.Sqrt(k*m1)
	// F = T + C·sin(ωt − φ) until it reaches R.
	c := math.Hypot(t, swing)
	start := (math.Atan2(t, swing) + math.Asin(clampUnit((r-t)/c))) * math.Sqrt(m1/k)
	xr := r / k
	vr2 := math.Max(0, float64(p.Speed*p.Speed)+(2*t*xr-k*xr*xr)/m1)

	mu := m1 * m2 / (m1 + m2)
	fc := mu * (t/m1 + r/m2)
	d := math.Hypot(fc-r, math.Sqrt(k*mu*vr2))
	return fc + d, start + (math.Pi/2-math.Asin(clampUnit((r-fc)/d)))*math.Sqrt(mu/k)
}

// clampUnit keeps rounding from leaving the domain of the arc sine.
func clampUnit(x float64) float64 { return math.Max(-1, math.Min(1, x)) }

// RecoilSpeed is the greatest speed that a part of mass m can reach when the
// line lets go and gives it all of the energy e in joules: √(2·e/m). Real
// parts stay below it, because the line takes its share.
func RecoilSpeed(e float64, m unit.Mass) unit.Speed {
	return unit.Speed(math.Sqrt(2 * e / float64(m)))
}

// KeepOut is the distance from the line and its ends inside which nobody may
// stand: factor times the unstretched length. 1.5 is what the instructions of
// recovery straps in Australia and New Zealand ask for; other trainers ask for
// 3 to 4; the rule in force locally comes first.
func KeepOut(length unit.Length, factor float64) unit.Length {
	return unit.Length(float64(length) * factor)
}

// SpeedLost is the speed that a puller of mass m loses to a given impulse of
// the line in N·s, where its drive is small against the line's pull.
func SpeedLost(impulse float64, m unit.Mass) unit.Speed {
	return unit.Speed(impulse / float64(m))
}
