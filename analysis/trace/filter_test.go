package trace_test

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/analysis/trace"
	"tautlog/ingest/needs"
)

// TestCoefficients compares with the vectors of testdata/cfc_filter.json,
// whose source stands in it.
func TestCoefficients(t *testing.T) {
	t.Parallel()
	var ref struct {
		Rows []struct {
			CFC, A0, A1, A2, B1, B2 float64
			Rate                    float64            `json:"fs_hz"`
			Gain                    map[string]float64 `json:"two_pass_gain_db"`
		}
	}
	readJSON(t, "testdata/cfc_filter.json", &ref)
	require.NotEmpty(t, ref.Rows)
	for _, row := range ref.Rows {
		c, ok := trace.NewCFC(row.CFC, row.Rate)
		require.True(t, ok)
		got := c.Coefficients()
		for i, want := range []float64{row.A0, row.A1, row.A2, row.B1, row.B2} {
			assert.InEpsilon(t, want, got[i], 1e-12, "class %g at %g Hz", row.CFC, row.Rate)
		}
		for at, factor := range map[string]float64{"at_CFC": 1, "at_5/3_CFC": 5.0 / 3, "at_2_CFC": 2, "at_4_CFC": 4} {
			assert.InDelta(t, row.Gain[at], gain(c, row.Rate, factor*row.CFC), 0.001, at)
		}
	}
}

// gain is what the filter leaves of a long sine, in dB.
func gain(c trace.CFC, rate, hz float64) float64 {
	n := int(20 * rate / hz * 8)
	x := make([]float64, n)
	for i := range x {
		x[i] = math.Sin(2 * math.Pi * hz * float64(i) / rate)
	}
	y := c.Apply(rate, x)
	var sx, sy float64
	for i := n / 4; i < 3*n/4; i++ {
		sx += x[i] * x[i]
		sy += x[i] * y[i]
	}
	return 20 * math.Log10(sy/sx)
}

func TestNoFilterBelowTenTimesTheClass(t *testing.T) {
	t.Parallel()
	_, ok := trace.NewCFC(60, 599)
	assert.False(t, ok)
	_, ok = trace.NewCFC(60, 600)
	assert.True(t, ok)
	_, ok = trace.NewCFC(0, 1000)
	assert.False(t, ok)
	_, ok = trace.NewCFC(60, math.NaN())
	assert.False(t, ok)
}

// TestSteadyLoadPassesUnchanged: constants and straight lines come out as
// they went in, also at the ends.
func TestSteadyLoadPassesUnchanged(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 2000).Draw(t, "n")
		a, b := rapid.Float64Range(-1e5, 1e5).Draw(t, "level"), rapid.Float64Range(-10, 10).Draw(t, "slope")
		x := make([]float64, n)
		for i := range x {
			x[i] = a + b*float64(i)
		}
		c, _ := trace.NewCFC(60, 1000)
		y := c.Apply(1000, x)
		require.Len(t, y, n)
		// A slope leaves the mirrored end at rest at its first value, which a
		// straight line is not: what is left of that fades over the padding.
		tol := 1e-9*(math.Abs(a)+1) + math.Abs(b)*math.Pow(0.58, float64(trace.Pad(1000, n)))*20
		for i := range y {
			require.InDelta(t, x[i], y[i], tol, "sample %d", i)
		}
	})
}

// TestAgainstScipy filters the same samples with scipy.signal.filtfilt, the
// same coefficients and the same treatment of the ends.
func TestAgainstScipy(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(3, 4))
	for _, k := range []struct{ class, rate float64 }{{60, 600}, {60, 1000}, {60, 1280}, {180, 10000}} {
		x := make([]float64, 3000)
		for i := range x {
			s := float64(i) / k.rate
			x[i] = 40e3*math.Exp(-math.Pow((s-1)/0.2, 2)) + 300*r.NormFloat64() + 500
		}
		c, ok := trace.NewCFC(k.class, k.rate)
		require.True(t, ok)
		got := c.Apply(k.rate, x)
		co := c.Coefficients()
		var want []float64
		needs.Scipy(t, "testdata/scipy/filtfilt.py", map[string]any{
			"b": co[:3], "a": []float64{1, -co[3], -co[4]}, "x": x, "pad": trace.Pad(k.rate, len(x)),
		}, &want)
		require.Len(t, got, len(want))
		for i := range want {
			require.InEpsilon(t, want[i], got[i], 1e-6, "class %g at %g Hz, sample %d", k.class, k.rate, i)
		}
	}
}

func readJSON(t *testing.T, name string, v any) {
	t.Helper()
	b, err := os.ReadFile(name)
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(b, v))
}
