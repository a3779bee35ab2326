// Package calibrate turns readings into newtons: calibration curves, and how
// far they can be trusted. It does not read instruments or store anything.
package calibrate

import (
	"math"
	"slices"

	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Curve is a polynomial of force on reading, newtons =
// Coefficients[0] + Coefficients[1]·raw + …, of degree 1 to 3.
type Curve struct {
	Coefficients []float64 `json:"coefficients"`
	// Relative95 is the half width of the 95 % interval of the force as a
	// fraction of the force, from the certificate; 0 means not known.
	Relative95 float64 `json:"relative_95,omitempty"`
}

// Line is the curve of an indicator that shows its reading in a unit of
// force with a fixed number of decimals: raw 12345 with three decimals of kN
// is 12.345 kN.
func Line(u unit.ForceUnit, decimals int) Curve {
	return Curve{Coefficients: []float64{0, float64(u.Newtons()) / math.Pow10(decimals)}}
}

// Force is the force for a raw reading.
func (c Curve) Force(raw float64) unit.Force {
	var f float64
	for i := len(c.Coefficients) - 1; i >= 0; i-- {
		f = f*raw + c.Coefficients[i]
	}
	return unit.Force(f)
}

// Forces appends the forces of raw readings, in newtons: Force of each.
func (c Curve) Forces(f []float64, raw []int64) []float64 {
	if len(c.Coefficients) != 2 {
		for _, r := range raw {
			f = append(f, float64(c.Force(float64(r))))
		}
		return f
	}
	n, b0, b1 := len(f), c.Coefficients[0], c.Coefficients[1]
	f = slices.Grow(f, len(raw))[:n+len(raw)]
	part := f[n:]
	for i, r := range raw[:len(part)] {
		part[i] = b1*float64(r) + b0
	}
	return f
}

// Slope is the force that one step of the reading is worth near raw.
func (c Curve) Slope(raw float64) unit.Force {
	var f float64
	for i := len(c.Coefficients) - 1; i >= 1; i-- {
		f = f*raw + float64(i)*c.Coefficients[i]
	}
	return unit.Force(f)
}

// ErrCurve says that a set of coefficients is no calibration curve.
var ErrCurve error = words.Kind("calibrate.curve")

// Validate refuses a curve that is not a finite polynomial of degree 1 to 3
// or whose uncertainty is not a fraction.
func (c Curve) Validate() error {
	if n := len(c.Coefficients); n < 2 || n > 4 {
		return words.Error("calibrate.curve.length", ErrCurve, n)
	}
	for i, b := range c.Coefficients {
		if math.IsNaN(b) || math.IsInf(b, 0) {
			return words.Error("calibrate.curve.coefficient", ErrCurve, i)
		}
	}
	if c.Coefficients[1] == 0 {
		return words.Error("calibrate.curve.flat", ErrCurve)
	}
	if !(c.Relative95 >= 0 && c.Relative95 < 1) {
		return words.Error("calibrate.curve.uncertainty", ErrCurve, c.Relative95)
	}
	return nil
}
