package calibrate

import (
	"math"

	"tautlog/calc/unit"
)

// The factors of ASTM E74: lower limit factor 2.4 s, loading ranges from 400
// times it (class A, 0.25 %) and 2000 times it (class AA, 0.05 %).
const (
	limitFactor = 2.4
	classA      = 400
	classAA     = 2000
	// LeastPointsE74 is how many points ASTM E74 wants at least.
	LeastPointsE74 = 30
)

// LLF is the lower limit factor of ASTM E74. It is not below what one step of
// the reading is worth (E74-18, 8.5, as a calibration laboratory explains it);
// a step of 0 is not known.
func (f Fit) LLF(step float64) unit.Force {
	return max(limitFactor*f.ResidualSD, unit.Force(step*math.Abs(float64(f.Slope(f.middle())))))
}

// Loading is a range of forces of an ASTM E74 class.
type Loading struct {
	Class     string
	Low, High unit.Force
	Reached   bool // false where the class begins above the largest force
}

// LoadingRanges gives the ranges of class A and AA: from the multiple of LLF,
// but not below the lowest force applied (from memory), to the largest.
func (f Fit) LoadingRanges(step float64) []Loading {
	lowest, largest := f.applied()
	out := []Loading{{Class: "A", Low: classA * f.LLF(step)}, {Class: "AA", Low: classAA * f.LLF(step)}}
	for i := range out {
		out[i].Low, out[i].High = max(out[i].Low, lowest), largest
		out[i].Reached = out[i].Low <= largest
	}
	return out
}

// applied gives the lowest force above zero and the largest.
func (f Fit) applied() (lowest, largest unit.Force) {
	for _, p := range f.Points {
		if p.Force > 0 && (lowest == 0 || p.Force < lowest) {
			lowest = p.Force
		}
		largest = max(largest, p.Force)
	}
	return lowest, largest
}
