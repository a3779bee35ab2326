package pull

import (
	"math"
	"slices"
)

// crowd is what noise makes of the largest of many nearly equal tops: how far
// it lies above the largest of the forces behind them, on average, and the
// standard deviation of that.
type crowd struct{ bias, sd float64 }

const (
	crowdSigmas = 4  // a top lower than the largest by more takes no part
	crowdMost   = 64 // tops that take part
	crowdGrid   = 8  // steps of the integration to a standard deviation
)

// measureCrowd looks at the tops x, each with noise sd. The largest of
// estimates is larger than the largest of what they estimate; by how much is
// found by putting the noise on once more, on the estimates (the bootstrap's
// correction of bias: Efron and Tibshirani, An Introduction to the Bootstrap,
// 1993, chapter 10, from memory). The distribution of the largest is the product of the
// distributions of all, integrated by steps.
func measureCrowd(x []float64, sd float64) crowd {
	top := slices.Max(x)
	var near []float64
	for _, v := range x {
		if v > top-crowdSigmas*sd {
			near = append(near, (v-top)/sd)
		}
	}
	slices.Sort(near)
	near = near[max(0, len(near)-crowdMost):]
	const low, high, step = -crowdSigmas, crowdSigmas + 2, 1.0 / crowdGrid
	var mean, square, last float64
	for z := low + step/2; z < high; z += step {
		p := 1.0
		for _, v := range near {
			p *= 0.5 * math.Erfc((v-z-step/2)/math.Sqrt2)
		}
		mean += z * (p - last)
		square += z * z * (p - last)
		last = p
	}
	return crowd{bias: sd * mean, sd: sd * math.Sqrt(max(0, square-mean*mean))}
}
