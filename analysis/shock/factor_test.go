package shock_test

import (
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"tautlog/analysis/shock"
	"tautlog/ingest/needs"
)

// table reads a table of testdata/shock, whose first lines name its source.
func table(t *testing.T, name string) (rows []map[string]float64) {
	t.Helper()
	all := needs.Table(t, "../../testdata/shock/"+name)
	for _, line := range all[1:] {
		row := map[string]float64{}
		for i, name := range all[0] {
			number, err := strconv.ParseFloat(line[i], 64)
			require.NoError(t, err)
			row[name] = number
		}
		rows = append(rows, row)
	}
	return rows
}

// TestFactorTable: the table of testdata/shock/k_factors.csv, which names the
// published values that agree with it.
func TestFactorTable(t *testing.T) {
	t.Parallel()
	rows := table(t, "k_factors.csv")
	require.Greater(t, len(rows), 50)
	for _, row := range rows {
		n := int(row["n"])
		for column, p := range map[string][2]float64{
			"k_p90_c95": {0.90, 0.95}, "k_p95_c95": {0.95, 0.95}, "k_p99_c95": {0.99, 0.95}, "k_p95_c90": {0.95, 0.90},
		} {
			assert.InDelta(t, row[column], shock.Factor(n, p[0], p[1]), 6e-7, "n = %d, %s", n, column)
		}
	}
	assert.True(t, math.IsInf(shock.Factor(1, 0.95, 0.95), 1))
	assert.InDelta(t, 1.644853627, shock.Factor(1_000_000_000, 0.95, 0.95), 1e-3)
}

// TestFactorNoncentralT: the factor is a quantile of the noncentral t
// distribution, as gonum calculates it by a series of its own.
func TestFactorNoncentralT(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 200).Draw(t, "n")
		content := rapid.Float64Range(0.5, 0.99).Draw(t, "content")
		confidence := rapid.Float64Range(0.5, 0.99).Draw(t, "confidence")
		root := math.Sqrt(float64(n))
		d := distuv.NoncentralT{Nu: float64(n - 1), Mu: root * distuv.UnitNormal.Quantile(content)}
		assert.InDelta(t, confidence, d.CDF(root*shock.Factor(n, content, confidence)), 1e-6)
	})
}

func TestShareTable(t *testing.T) {
	t.Parallel()
	rows := table(t, "clopper_pearson.csv")
	require.Len(t, rows, 12)
	for _, row := range rows {
		low, high := shock.Share(int(row["k"]), int(row["n"]), 0.95)
		assert.InDelta(t, row["lower95"], low, 1e-8)
		assert.InDelta(t, row["upper95"], high, 1e-8)
	}
	low, high := shock.Share(0, 0, 0.95)
	assert.Equal(t, [2]float64{0, 1}, [2]float64{low, high})
	assert.Panics(t, func() { shock.Share(3, 2, 0.95) })
}

// TestShareTails: a limit is where what was seen, or more, has just the tail
// probability (the definition).
func TestShareTails(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 400).Draw(t, "n")
		k := rapid.IntRange(0, n).Draw(t, "k")
		low, high := shock.Share(k, n, 0.95)
		if k > 0 {
			d := distuv.Binomial{N: float64(n), P: low}
			assert.InDelta(t, 0.025, 1-d.CDF(float64(k-1)), 1e-8)
		}
		if k < n {
			d := distuv.Binomial{N: float64(n), P: high}
			assert.InDelta(t, 0.025, d.CDF(float64(k)), 1e-8)
		}
	})
}

// TestAgreesWithScipy: factors and exact limits against scipy.stats, an
// independent implementation of both.
func TestAgreesWithScipy(t *testing.T) {
	t.Parallel()
	var want struct {
		Factors, Shares [][]float64
	}
	needs.Scipy(t, "../../testdata/shock/quantiles.py", nil, &want)
	require.NotEmpty(t, want.Factors)
	require.NotEmpty(t, want.Shares)
	for _, w := range want.Factors {
		assert.InDelta(t, w[3], shock.Factor(int(w[0]), w[1], w[2]), 1e-6*math.Max(1, w[3]), "%v", w)
	}
	for _, w := range want.Shares {
		low, high := shock.Share(int(w[0]), int(w[1]), w[2])
		assert.InDelta(t, w[3], low, 1e-9, "%v", w)
		assert.InDelta(t, w[4], high, 1e-9, "%v", w)
	}
}
