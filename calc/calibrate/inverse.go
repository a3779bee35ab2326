package calibrate

import (
	"math"

	"tautlog/calc/unit"
)

// Reading is the reading for which the curve gives force f, not rounded to a
// whole count: Newton's method from the straight part of the curve. It is
// false where the curve does not reach f there.
func (c Curve) Reading(f unit.Force) (float64, bool) {
	raw := (float64(f) - c.Coefficients[0]) / c.Coefficients[1]
	for range 50 {
		miss := float64(c.Force(raw) - f)
		if math.Abs(miss) <= 4*0x1p-52*math.Max(math.Abs(float64(f)), math.Abs(c.Coefficients[0])) {
			return raw, true
		}
		next := raw - miss/float64(c.Slope(raw))
		if next == raw {
			return raw, true
		}
		if raw = next; math.IsNaN(raw) || math.IsInf(raw, 0) {
			return 0, false
		}
	}
	step := math.Abs(float64(c.Slope(raw)))
	return raw, math.Abs(float64(c.Force(raw)-f)) <= 1e-6*step
}
