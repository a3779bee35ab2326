package calibrate_test

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/calc/calibrate"
	"tautlog/calc/unit"
	"tautlog/ingest/needs"
)

const folder = "../../testdata/calibration"

// columns reads a published data set: comment lines start with #, then a
// header, then two numbers a line.
func columns(t *testing.T, name string) (first, second []float64) {
	t.Helper()
	rows := needs.Table(t, filepath.Join(folder, name))
	for _, row := range rows[1:] {
		a, err := strconv.ParseFloat(row[0], 64)
		require.NoError(t, err)
		b, err := strconv.ParseFloat(row[1], 64)
		require.NoError(t, err)
		first, second = append(first, a), append(second, b)
	}
	return first, second
}

// The certified quadratic of NIST StRD "Pontius" (a load cell calibration)
// leaves the certified residual sum of squares.
func TestCertifiedQuadraticLeavesTheCertifiedResiduals(t *testing.T) {
	var certified struct {
		Coefficients []string `json:"coefficients"`
		Squares      string   `json:"residual_sum_of_squares"`
	}
	raw, err := os.ReadFile(filepath.Join(folder, "pontius.json"))
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(raw, &certified))
	curve := calibrate.Curve{}
	for _, s := range certified.Coefficients {
		b, err := strconv.ParseFloat(s, 64)
		require.NoError(t, err)
		curve.Coefficients = append(curve.Coefficients, b)
	}
	want, err := strconv.ParseFloat(certified.Squares, 64)
	require.NoError(t, err)

	loads, deflections := columns(t, "pontius.csv")
	require.Len(t, loads, 40)
	var squares float64
	for i, x := range loads {
		squares += math.Pow(deflections[i]-float64(curve.Force(x)), 2)
	}
	assert.InEpsilon(t, want, squares, 1e-9)
}

// The certified line of NIST StRD "Norris" leaves the certified residual
// sum of squares.
func TestCertifiedLineLeavesTheCertifiedResiduals(t *testing.T) {
	curve := calibrate.Curve{Coefficients: []float64{-0.262323073774029, 1.00211681802045}}
	ys, xs := columns(t, "norris.csv")
	require.Len(t, xs, 36)
	var squares float64
	for i, x := range xs {
		squares += math.Pow(ys[i]-float64(curve.Force(x)), 2)
	}
	assert.InEpsilon(t, 26.6173985294224, squares, 1e-9)
}

func TestLine(t *testing.T) {
	assert.InDelta(t, 12345, float64(calibrate.Line(unit.Kilonewton, 3).Force(12345)), 1e-9)
	assert.InDelta(t, 1.5*9806.65, float64(calibrate.Line(unit.TonneF, 2).Force(150)), 1e-9)
}

func TestSlopeIsTheDerivative(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := calibrate.Curve{Coefficients: rapid.SliceOfN(rapid.Float64Range(-10, 10), 2, 4).Draw(t, "coefficients")}
		x := rapid.Float64Range(-100, 100).Draw(t, "raw")
		const h = 1e-4
		want := float64(c.Force(x+h)-c.Force(x-h)) / (2 * h)
		assert.InDelta(t, want, float64(c.Slope(x)), 1e-3)
	})
}

func TestValidate(t *testing.T) {
	require.NoError(t, calibrate.Line(unit.Kilonewton, 3).Validate())
	for name, c := range map[string]calibrate.Curve{
		"empty":          {},
		"constant":       {Coefficients: []float64{1}},
		"too high":       {Coefficients: []float64{0, 1, 2, 3, 4}},
		"not a number":   {Coefficients: []float64{0, math.NaN()}},
		"does not move":  {Coefficients: []float64{5, 0, 1}},
		"uncertain":      {Coefficients: []float64{0, 1}, Relative95: 1},
		"uncertain back": {Coefficients: []float64{0, 1}, Relative95: -0.1},
	} {
		assert.ErrorIs(t, c.Validate(), calibrate.ErrCurve, name)
	}
}

// All forces at once are those of one after the other, to the bit.
func TestForcesAreThoseOfEach(t *testing.T) {
	t.Parallel()
	raw := []int64{math.MinInt64, -8_388_608, -1, 0, 1, 84_213, 8_388_607, math.MaxInt64}
	for _, c := range [][]float64{{12.5, -0.3048}, {-812.3, 0.4517, 1.3e-9}, {1, 2, -3e-9, 4e-18}} {
		curve := calibrate.Curve{Coefficients: c}
		want := []float64{3}
		for _, r := range raw {
			want = append(want, float64(curve.Force(float64(r))))
		}
		assert.Equal(t, want, curve.Forces([]float64{3}, raw))
	}
}
