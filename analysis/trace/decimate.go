package trace

import "math"

// Decimate keeps every q-th sample of x, the first one first, after a low-pass
// that takes out what so few samples cannot show: a windowed sinc (Hamming) of
// 20·q+1 points with its edge at half of the new rate (Oppenheim and Schafer,
// Discrete-Time Signal Processing, section 7.5, from memory). The filter is symmetric, so
// nothing moves in time. Each end is continued by its mirror image about the
// end point, as far as the samples reach, and then by its last value.
//
// It is for drawing and comparing. No peak is ever taken from it.
func Decimate(x []float64, q int) []float64 {
	if q <= 1 || len(x) == 0 {
		return append([]float64(nil), x...)
	}
	h, half := sinc(q), 10*q
	out := make([]float64, 0, (len(x)+q-1)/q)
	for i := 0; i < len(x); i += q {
		var sum float64
		for k, w := range h {
			sum += w * mirrored(x, i+k-half)
		}
		out = append(out, sum)
	}
	return out
}

// sinc is the low-pass, its sum 1.
func sinc(q int) []float64 {
	n := 20*q + 1
	h, sum := make([]float64, n), 0.0
	for i := range h {
		x := float64(i - n/2)
		h[i] = 1
		if x != 0 {
			h[i] = math.Sin(math.Pi*x/float64(q)) / (math.Pi * x / float64(q))
		}
		h[i] *= 0.54 - 0.46*math.Cos(2*math.Pi*float64(i)/float64(n-1))
		sum += h[i]
	}
	for i := range h {
		h[i] /= sum
	}
	return h
}

// mirrored is x at i, continued beyond its ends.
func mirrored(x []float64, i int) float64 {
	last := len(x) - 1
	switch {
	case i < 0:
		return 2*x[0] - x[min(-i, last)]
	case i > last:
		return 2*x[last] - x[max(2*last-i, 0)]
	}
	return x[i]
}
