package shock_test

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/shock"
)

// certified is a set of the NIST Statistical Reference Datasets for nonlinear
// regression.
type certified struct {
	Starts    [][]float64
	Certified map[string]float64
}

// TestLeastSquaresNIST: parameters, their standard deviations and the sum of
// squares to six digits, from both starts, of sets of lower and of higher
// difficulty. Sources in testdata/shock.
func TestLeastSquaresNIST(t *testing.T) {
	t.Parallel()
	rise := func(b []float64, x float64) float64 { return b[0] * (1 - math.Exp(-b[1]*x)) }
	for name, model := range map[string]func(b []float64, x float64) float64{
		"misra1a": rise,
		"boxbod":  rise,
		"rat42":   func(b []float64, x float64) float64 { return b[0] / (1 + math.Exp(b[1]-b[2]*x)) },
	} {
		var set certified
		text, err := os.ReadFile("../../testdata/shock/" + name + ".json")
		require.NoError(t, err)
		require.NoError(t, json.Unmarshal(text, &set))
		rows := table(t, name+".csv")
		require.Len(t, set.Starts, 2)
		for _, start := range set.Starts {
			p := shock.Problem{Count: len(rows), Residuals: func(into, b []float64) {
				for i, row := range rows {
					into[i] = row["y"] - model(b, row["x"])
				}
			}}
			got, err := shock.LeastSquares(p, start)
			require.NoError(t, err, name)
			t.Logf("%s from %v: %d rounds", name, start, got.Rounds)
			assert.InEpsilon(t, set.Certified["rss"], got.RSS, 1e-6, name)
			for j := range start {
				assert.InEpsilon(t, set.Certified[fmt.Sprint("b", j+1)], got.Parameters[j], 1e-6, "%s from %v", name, start)
				assert.InEpsilon(t, set.Certified[fmt.Sprint("sd_b", j+1)], got.SD[j], 1e-6, "%s from %v", name, start)
			}
		}
	}
}

// TestLeastSquaresEnds: it ends where there is nothing to find, and says so.
func TestLeastSquaresEnds(t *testing.T) {
	t.Parallel()
	flat, err := shock.LeastSquares(shock.Problem{Count: 3, Residuals: func(into, _ []float64) {
		copy(into, []float64{1, 2, 3})
	}}, []float64{5})
	require.NoError(t, err)
	assert.Equal(t, []float64{5}, flat.Parameters)
	assert.True(t, math.IsInf(flat.SD[0], 1))
	_, err = shock.LeastSquares(shock.Problem{Count: 2, Residuals: func(into, _ []float64) { into[0] = math.NaN() }}, []float64{1})
	require.ErrorIs(t, err, shock.ErrNoFit)
	assert.Panics(t, func() { _, _ = shock.LeastSquares(shock.Problem{Count: 1}, []float64{1, 2}) })
}
