package calibrate

import (
	"errors"

	"tautlog/calc/words"
)

// proposeBelow is the chance below which a further term is proposed: common
// practice, no source.
const proposeBelow = 0.01

// Propose fits the lowest degree, 1 to 3, that no higher one improves on: each
// is compared with the higher ones by the F test of its extra terms, at 1 %.
// Its reason is for people. A degree that is not monotone over the points, or
// that leaves fewer than three points to judge by, is not proposed.
func Propose(points []Point) (chosen Fit, reason string, err error) {
	if chosen, err = FitCurve(points, 1); err != nil {
		return Fit{}, "", err
	}
	reason = words.Say("calibrate.degree.line")
	for degree := 2; degree <= 3; degree++ {
		next, err := FitCurve(points, degree)
		switch {
		case errors.Is(err, ErrFit) || err == nil && next.Freedom < 3:
			return chosen, reason + "; " + words.Say("calibrate.degree.few", degree), nil
		case err != nil:
			return Fit{}, "", err
		}
		p := improves(chosen, next)
		from, to := float64(chosen.ResidualSD), float64(next.ResidualSD)
		reason += "; "
		switch {
		case p >= proposeBelow:
			reason += words.Say("calibrate.degree.not", degree, from, to, 100*p)
		case !next.Monotone():
			reason += words.Say("calibrate.degree.turns", degree, from, to, 100*p)
		default:
			chosen = next
			reason += words.Say("calibrate.degree.taken", degree, from, to, 100*p)
		}
	}
	return chosen, reason, nil
}

// improves is the chance that the extra terms of the higher fit would take so
// much off the residuals where none is needed.
func improves(lower, higher Fit) float64 {
	extra := lower.Freedom - higher.Freedom
	gain := (lower.squares() - higher.squares()) / float64(extra)
	rest := float64(higher.ResidualSD) * float64(higher.ResidualSD)
	largest := 0.0
	for _, p := range higher.Points {
		largest = max(largest, float64(p.Force), -float64(p.Force))
	}
	// Below the rounding of the forces themselves there is nothing to compare.
	if rounding := 1e-13 * largest; gain <= rounding*rounding {
		return 1
	}
	return fTail(gain/rest, extra, higher.Freedom)
}

// Monotone tells whether the force goes one way only from the lowest to the
// highest reading of the points.
func (f Fit) Monotone() bool { return f.MonotoneBetween(f.low, f.high) }

// MonotoneBetween tells whether the force goes one way only between two
// readings: the slope, a parabola at most, has one sign at both ends and at
// its vertex.
func (c Curve) MonotoneBetween(low, high float64) bool {
	at := []float64{low, high}
	if len(c.Coefficients) == 4 && c.Coefficients[3] != 0 {
		if vertex := -c.Coefficients[2] / (3 * c.Coefficients[3]); low < vertex && vertex < high {
			at = append(at, vertex)
		}
	}
	for _, x := range at {
		if c.Slope(x)*c.Slope(low) <= 0 {
			return false
		}
	}
	return true
}
