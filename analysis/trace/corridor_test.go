package trace_test

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/trace"
	"tautlog/ingest/needs"
)

// TestInsideTheCorridor: the response lies within the limits that SAE J211-1
// draws for a channel class: ±0.5 dB up to the class, +0.5 and -1 dB at it,
// +0.5 and -4 dB at FN, then between -9 and -24 dB an octave, the upper line
// ending at -30 dB (60, 180) or -40 dB (600, 1000). FN and the two ends are as
// read (testdata/cfc_filter.json); the other limits are from memory.
//
// A digital filter is null at half of the rate, so no line of so many dB an
// octave holds up to there: it is asked up to a quarter of the rate.
func TestInsideTheCorridor(t *testing.T) {
	t.Parallel()
	for _, class := range []struct{ cfc, fn, stop float64 }{{60, 100, -30}, {180, 300, -30}, {600, 1000, -40}, {1000, 1650, -40}} {
		for _, times := range []float64{10, 20, 100} {
			rate := times * class.cfc
			c, ok := trace.NewCFC(class.cfc, rate)
			require.True(t, ok)
			for hz := 0.1; hz <= rate/4; hz *= 1.02 {
				low, high := corridor(hz, class.cfc, class.fn, class.stop)
				got := response(c, hz/rate)
				assert.GreaterOrEqual(t, got, low, "class %g at %g Hz, read at %g", class.cfc, hz, rate)
				assert.LessOrEqual(t, got, high, "class %g at %g Hz, read at %g", class.cfc, hz, rate)
			}
		}
	}
}

// corridor gives the limits in dB at a frequency, straight lines over its
// logarithm between the points that are given.
func corridor(hz, cfc, fn, stop float64) (low, high float64) {
	switch {
	case hz <= cfc/2:
		return -0.5, 0.5
	case hz <= cfc:
		return -0.5 - 0.5*math.Log2(hz/(cfc/2)), 0.5
	case hz <= fn:
		return -1 - 3*math.Log(hz/cfc)/math.Log(fn/cfc), 0.5
	}
	octaves := math.Log2(hz / fn)
	return -4 - 24*octaves, max(stop, 0.5-9*octaves)
}

// response is the gain of both passes in dB at a share of the rate, from the
// coefficients.
func response(c trace.CFC, share float64) float64 {
	k := c.Coefficients()
	z := cmplx.Exp(complex(0, -2*math.Pi*share))
	h := (complex(k[0], 0) + complex(k[1], 0)*z + complex(k[2], 0)*z*z) / (1 - complex(k[3], 0)*z - complex(k[4], 0)*z*z)
	return 40 * math.Log10(cmplx.Abs(h))
}

// TestDecimate compares with scipy on the same samples, and asks that what
// passes is not moved.
func TestDecimate(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(8, 4))
	x := make([]float64, 4003)
	for i := range x {
		x[i] = 30e3*math.Exp(-math.Pow((float64(i)-1500)/200, 2)) + 5000 + 2*float64(i) + 300*r.NormFloat64()
	}
	var want [][]float64
	qs := []int{2, 5, 16, 50}
	needs.Scipy(t, "testdata/scipy/decimate.py", map[string]any{"x": x, "q": qs}, &want)
	for k, q := range qs {
		got := trace.Decimate(x, q)
		require.Len(t, got, len(want[k]))
		for i := range got {
			require.InEpsilon(t, want[k][i], got[i], 1e-6, "one of %d, sample %d", q, i)
		}
	}
	assert.Equal(t, x, trace.Decimate(x, 1))
	assert.Empty(t, trace.Decimate(nil, 4))
	assert.InDeltaSlice(t, []float64{7}, trace.Decimate([]float64{7}, 4), 1e-12)
	for i, v := range trace.Decimate([]float64{1, 3, 5, 7, 9, 11, 13, 15, 17, 19, 21, 23}, 3) {
		assert.InDelta(t, 1+6*float64(i), v, 0.2, "a straight line stays one")
	}
}
