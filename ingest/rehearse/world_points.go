package rehearse

import (
	"math/rand/v2"
	"strconv"

	"tautlog/calc/calibrate"
	"tautlog/calc/unit"
)

// KnownLoads is what the cell of the bench read under known loads when it was
// calibrated, in four runs up and one of them down again. Invented, like all of
// the World.
func (b Bench) KnownLoads() []calibrate.Point {
	random := rand.New(rand.NewPCG(20260502, 7))
	read := func(f unit.Force) float64 {
		return (float64(f)-b.Cell.Curve.Coefficients[0]+6*random.NormFloat64())/b.Cell.Curve.Coefficients[1] + 1e-11*float64(f)*float64(f)
	}
	var out []calibrate.Point
	for run := range 4 {
		name := strconv.Itoa(run + 1)
		for i := range 11 {
			f := b.Cell.Capacity * unit.Force(i) / 10
			out = append(out, calibrate.Point{Reading: read(f), Force: f, Run: name})
		}
	}
	for i := range 10 {
		f := b.Cell.Capacity * unit.Force(9-i) / 10
		out = append(out, calibrate.Point{Reading: read(f), Force: f, Run: "4", Down: true})
	}
	return out
}
