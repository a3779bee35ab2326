package shock

import "math"

// points are places that fill the unit cube of so many dimensions evenly, the
// same ones each time: multiples of the powers of the number g for which
// g^(n+1) = g + 1 (in one dimension the golden ratio), without their whole
// part.
func points(count, dimensions int) [][]float64 {
	g := 2.0
	for range 60 {
		g = math.Pow(1+g, 1/float64(dimensions+1))
	}
	all := make([][]float64, count)
	for i := range all {
		all[i] = make([]float64, dimensions)
		step := 1.0
		for j := range all[i] {
			step /= g
			_, all[i][j] = math.Modf(0.5 + float64(i+1)*step)
		}
	}
	return all
}
