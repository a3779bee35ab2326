package shock

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"tautlog/calc/kinetic"
	"tautlog/calc/unit"
)

// TestSwingAgreesWithKinetic: the short formula of the fit is that of
// calc/kinetic, its slope is that of small steps, and holding undoes it.
func TestSwingAgreesWithKinetic(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string, a, b float64) float64 { return rapid.Float64Range(a, b).Draw(t, name) }
		p := Pull{
			Speed: unit.Speed(draw("speed", 0.5, 6)), Puller: unit.Mass(draw("puller", 800, 20e3)), Reference: unit.Mass(draw("stuck", 800, 20e3)),
			StrapLength: unit.Length(draw("length", 3, 20)), StrapMBS: unit.Force(draw("strength", 50e3, 300e3)),
		}
		strap, ground := draw("strap", 2, 20), draw("ground", 0.01, 5)
		want, err := kinetic.Closed(kinetic.Pull{
			Puller: p.Puller, Stuck: p.Reference, Speed: p.Speed,
			Line:       kinetic.Line{Curve: kinetic.Linear(unit.Stiffness(strap * float64(p.StrapMBS) / float64(p.StrapLength)))},
			Resistance: unit.Force(ground) * p.Reference.Weight(),
		})
		require.NoError(t, err)
		s := p.swing(0, 0)
		x, y := math.Log(strap), math.Log(ground)
		peak, slope := s.sloped(x, y)
		assert.InEpsilon(t, p.relative(want.Peak), math.Exp(peak), 1e-9)
		assert.Equal(t, want.Moves, slope > 0)
		const h = 1e-5
		assert.InDelta(t, (s.peak(x, y+h)-s.peak(x, y-h))/(2*h), slope, 1e-4)
		if want.Moves {
			top := s.fixed + x/2
			held, _ := holding(s.share, math.Exp(peak-top))
			assert.InDelta(t, math.Exp(y-top), held, 1e-5)
		}
	})
}

// TestChiSquared: quantiles against those of gonum.
func TestChiSquared(t *testing.T) {
	t.Parallel()
	for _, freedom := range []float64{10, 30, 100.5} {
		for _, p := range []float64{0.01, 0.05, 0.3, 0.5, 0.9, 0.99} {
			want := distuv.ChiSquared{K: freedom}.Quantile(p)
			assert.InEpsilon(t, want, chiSquared(freedom, p), 0.02, "%g degrees, %g", freedom, p)
		}
	}
}

// TestPointsFillTheCube: of every box that is a half or a third of the cube in
// two of its directions, the points take the share that is its due.
func TestPointsFillTheCube(t *testing.T) {
	t.Parallel()
	all := points(2500, 8)
	for i := range 8 {
		for j := range i {
			inside := 0
			for _, u := range all {
				if u[i] < 0.5 && u[j] < 1.0/3 {
					inside++
				}
			}
			assert.InDelta(t, 1.0/6, float64(inside)/2500, 0.01, "%d and %d", i, j)
		}
	}
}

// TestQuantileOfDraws: of many draws of equal weight and of unequal ones.
func TestQuantileOfDraws(t *testing.T) {
	t.Parallel()
	var all []draw
	for i := range 1000 {
		all = append(all, draw{weight: 1e-3, spread: math.Mod(float64(i)*0.6180339887, 1)})
	}
	spread := func(d draw) float64 { return d.spread }
	for _, p := range []float64{0.025, 0.5, 0.95} {
		assert.InDelta(t, p, quantile(all, p, spread), 3e-3)
	}
	two := []draw{{weight: 0.7, spread: 1}, {weight: 0.3, spread: math.Inf(1)}}
	assert.Equal(t, 1.0, quantile(two, 0.5, spread))
	assert.True(t, math.IsInf(quantile(two, 0.8, spread), 1))
}

// TestLesseningHasNoGaps: any logit gives a resistance with a slope, and a
// larger one no less.
func TestLesseningHasNoGaps(t *testing.T) {
	t.Parallel()
	for _, a := range []float64{0.05, 0.5, 0.95} {
		before := 0.0
		for z := -800.0; z <= 800; z += 0.5 {
			held, slope := lessening(a, z)
			assert.GreaterOrEqual(t, held, before)
			assert.True(t, slope >= 0 && !math.IsInf(slope, 0) && held > 0, "%g: %g, %g", z, held, slope)
			before = held
		}
		assert.InDelta(t, reach, before, 1e-5)
	}
}
