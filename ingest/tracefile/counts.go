package tracefile

import (
	"math"

	"tautlog/calc/unit"
)

// mostDecimals and mostCounts bound what Decimals gives.
const (
	mostDecimals = 9
	mostCounts   = 1 << 50
)

// Decimals is the number of decimals in u, from 0 to 9, to which all forces
// can be written as whole counts with nothing lost. Where no such number is,
// it is the largest at which the counts stay well inside an int64: then less
// than a part in 10⁹ of the largest force is lost, or a billionth of the unit.
func Decimals(forces []float64, u unit.ForceUnit) int {
	largest := 0.0
	for _, f := range forces {
		largest = math.Max(largest, math.Abs(f))
	}
	most := mostDecimals
	for most > 0 && largest/float64(u.Newtons())*math.Pow10(most) > mostCounts {
		most--
	}
	decimals := 0
	for _, f := range forces {
		for decimals < most && !isWhole(f/float64(u.Newtons())*math.Pow10(decimals)) {
			decimals++
		}
	}
	return decimals
}

// isWhole tells whether x is a whole number but for the rounding of the
// conversions before.
func isWhole(x float64) bool {
	return math.Abs(x-math.Round(x)) <= 4*0x1p-52*math.Max(math.Abs(x), 1)
}
