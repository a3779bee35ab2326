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

// Decimals looks for the number of decimals in a unit to which all forces of a
// trace can be written as whole counts with nothing lost.
type Decimals struct {
	newtons float64
	largest float64 // in newtons
	needed  int     // up to mostDecimals
}

// NewDecimals counts in u.
func NewDecimals(u unit.ForceUnit) *Decimals { return &Decimals{newtons: float64(u.Newtons())} }

// Add takes the next forces.
func (d *Decimals) Add(forces []float64) {
	scale := math.Pow10(d.needed)
	for _, f := range forces {
		d.largest = math.Max(d.largest, math.Abs(f))
		for d.needed < mostDecimals && !isWhole(f/d.newtons*scale) {
			d.needed++
			scale = math.Pow10(d.needed)
		}
	}
}

// Number is the number of decimals, from 0 to 9. Where no such number is, it is
// the largest at which the counts stay well inside an int64: then less than a
// part in 10⁹ of the largest force is lost, or a billionth of the unit.
func (d *Decimals) Number() int {
	most := mostDecimals
	for most > 0 && d.largest/d.newtons*math.Pow10(most) > mostCounts {
		most--
	}
	return min(d.needed, most)
}

// isWhole tells whether x is a whole number but for the rounding of the
// conversions before.
func isWhole(x float64) bool {
	return math.Abs(x-math.Round(x)) <= 4*0x1p-52*math.Max(math.Abs(x), 1)
}
