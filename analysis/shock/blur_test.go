package shock

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// TestIntervalsAgainstExactLikelihood: values that stand for intervals lead to
// the level and the spread at which the exact likelihood of the intervals is
// largest, found by trying all.
func TestIntervalsAgainstExactLikelihood(t *testing.T) {
	t.Parallel()
	for i := range 6 {
		r := rand.New(rand.NewPCG(9, uint64(i)))
		var readings []reading
		for d := range 60 {
			low := 0.4 + 0.25*r.NormFloat64() + math.Log(1-0.4*r.Float64())
			high := low - math.Log(0.6)
			if d%7 == 0 {
				high = math.Inf(1)
			}
			readings = append(readings, reading{0, d, low, high, false})
		}
		m := fitKind(readings, 1, len(readings))
		level, sigma := likeliest(readings)
		assert.InDelta(t, level, m.beliefs[0].median(), 0.006)
		assert.InEpsilon(t, sigma, math.Sqrt(m.sigma2*(1+m.best.ratios.days)), 0.04)
	}
}

func likeliest(readings []reading) (level, sigma float64) {
	best := math.Inf(-1)
	for mu := 0.2; mu < 0.8; mu += 0.004 {
		for sd := 0.1; sd < 0.5; sd += 0.004 {
			l := 0.0
			for _, x := range readings {
				l += math.Log(math.Erfc((x.low-mu)/sd/math.Sqrt2)/2 - math.Erfc((x.high-mu)/sd/math.Sqrt2)/2)
			}
			if l > best {
				best, level, sigma = l, mu, sd
			}
		}
	}
	return level, sigma
}

// TestTruncated: the moments agree with sums over the density.
func TestTruncated(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		mean, sd := rapid.Float64Range(-2, 2).Draw(t, "mean"), rapid.Float64Range(0.1, 2).Draw(t, "sd")
		low := mean + sd*rapid.Float64Range(-12, 12).Draw(t, "low")
		high := low + sd*rapid.Float64Range(0.1, 10).Draw(t, "width")
		gotMean, gotVariance := truncated(mean, sd*sd, low, high)
		const n = 20000
		nearest := math.Max(low, math.Min(high, mean))
		var w0, w1, w2 float64
		for i := range n {
			x := low + (high-low)*(float64(i)+0.5)/n
			a, b := (x-mean)/sd, (nearest-mean)/sd
			w := math.Exp((b - a) * (b + a) / 2)
			w0 += w
			w1 += w * (x - nearest)
			w2 += w * (x - nearest) * (x - nearest)
		}
		m := w1 / w0
		assert.InDelta(t, nearest+m, gotMean, 1e-4*sd)
		assert.InDelta(t, w2/w0-m*m, gotVariance, 1e-4*sd*sd)
	})
}
