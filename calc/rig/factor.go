package rig

import (
	"fmt"
	"math"
	"strconv"

	"tautlog/calc/unit"
)

// half is the cosine of half the included angle, as a named term.
//
// A bridle leg carries the line over 2 cos(θ/2), a block 2 cos(θ/2) times the
// line: the equilibrium of three forces at a point, two of them equal. The
// checks are printed tables of sling and block angles.
func half(included unit.Angle) term {
	a := included / 2
	return named("cos "+degrees(a), math.Cos(float64(a)))
}

// LegShare is what one leg of a bridle carries of the line, where the legs share
// equally and open to the included angle: 1 / (2 cos(θ/2)).
func LegShare(included unit.Angle) float64 {
	return 1 / (2 * math.Cos(float64(included/2)))
}

// degrees prints an angle to a tenth of a degree.
func degrees(a unit.Angle) string {
	return strconv.FormatFloat(math.Round(a.Degrees()*10)/10, 'f', -1, 64) + "°"
}

// resultant is the force on a block with the pull 1 in one line and e in the
// other, at the included angle: the diagonal of their parallelogram.
func resultant(included unit.Angle, e float64) term {
	v := diagonal(1, e, included)
	return named(fmt.Sprintf("√(1 + %s² + 2 · %[1]s cos %s)", plain(e), degrees(included)), v)
}

// diagonal is √(a² + b² + 2ab cos θ) for a and b that are not below zero,
// written as √((a−b)² + 4ab cos²(θ/2)): where the lines nearly face each other,
// the first form is a small difference of large numbers.
func diagonal(a, b float64, included unit.Angle) float64 {
	return math.Hypot(a-b, 2*math.Sqrt(a*b)*math.Cos(float64(included/2)))
}

// partsSum is what all parts of a tackle carry together, with the hauled part
// as 1 and each next one e times the one before.
func partsSum(parts int, e float64) term {
	if e == 1 {
		return number(float64(parts))
	}
	sum, text := 1.0, "(1"
	for i := 1; i < parts; i++ {
		sum += math.Pow(e, float64(i))
		text += " + " + plain(math.Pow(e, float64(i)))
	}
	return named(text+")", sum)
}

// kept is what a sheave leaves of the line pull.
func kept(loss *float64) float64 {
	if loss == nil {
		return 1
	}
	return 1 - *loss
}

func plain(v float64) string { return strconv.FormatFloat(v, 'g', 4, 64) }
