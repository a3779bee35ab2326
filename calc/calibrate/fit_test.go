package calibrate_test

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/calc/calibrate"
	"tautlog/calc/unit"
)

func points(readings, forces []float64) (out []calibrate.Point) {
	for i := range readings {
		out = append(out, calibrate.Point{Reading: readings[i], Force: unit.Force(forces[i])})
	}
	return out
}

func load(t *testing.T, name string, into any) {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join(folder, name))
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(raw, into))
}

func fitted(t require.TestingT, p []calibrate.Point, degree int) calibrate.Fit {
	f, err := calibrate.FitCurve(p, degree)
	require.NoError(t, err)
	return f
}

const nineDigits = 1e-9

// NIST StRD "Pontius", testdata/calibration/pontius.json.
func TestFitsTheCertifiedQuadratic(t *testing.T) {
	var certified struct {
		Coefficients []string `json:"coefficients"`
		SD           []string `json:"coefficient_sd"`
		ResidualSD   string   `json:"residual_sd"`
	}
	load(t, "pontius.json", &certified)
	x, y := columns(t, "pontius.csv")
	f := fitted(t, points(x, y), 2)
	for i, s := range certified.Coefficients {
		b, err := strconv.ParseFloat(s, 64)
		require.NoError(t, err)
		sd, err := strconv.ParseFloat(certified.SD[i], 64)
		require.NoError(t, err)
		assert.InEpsilon(t, b, f.Coefficients[i], nineDigits, "coefficient %d", i)
		assert.InEpsilon(t, sd, f.CoefficientSD()[i], nineDigits, "its standard deviation %d", i)
	}
	s, err := strconv.ParseFloat(certified.ResidualSD, 64)
	require.NoError(t, err)
	assert.InEpsilon(t, s, float64(f.ResidualSD), nineDigits)
	assert.InEpsilon(t, 2.4*s, float64(f.LLF(0)), nineDigits)
	assert.InEpsilon(t, 0.999999900178537, f.RSquared, nineDigits) // certified R², from memory

	proposed, reason, err := calibrate.Propose(points(x, y))
	require.NoError(t, err)
	assert.Equal(t, 2, proposed.Degree(), reason)
}

// NIST StRD "Norris", testdata/calibration/norris.json.
func TestFitsTheCertifiedLine(t *testing.T) {
	var certified struct {
		Certified map[string]float64 `json:"certified"`
	}
	load(t, "norris.json", &certified)
	y, x := columns(t, "norris.csv")
	f := fitted(t, points(x, y), 1)
	c := certified.Certified
	assert.InEpsilon(t, c["B0"], f.Coefficients[0], nineDigits)
	assert.InEpsilon(t, c["B1"], f.Coefficients[1], nineDigits)
	assert.InEpsilon(t, c["sd_B0"], f.CoefficientSD()[0], nineDigits)
	assert.InEpsilon(t, c["sd_B1"], f.CoefficientSD()[1], nineDigits)
	assert.InEpsilon(t, c["residual_sd"], float64(f.ResidualSD), nineDigits)
	assert.InEpsilon(t, c["r_squared"], f.RSquared, nineDigits)
}

// NIST StRD "NoInt1" lies on y = x + 70 exactly; its certified fit goes
// through the origin and does not apply to a curve with a zero.
func TestFitsAnExactLine(t *testing.T) {
	x, y := columns(t, "noint1.csv")
	f := fitted(t, points(x, y), 1)
	assert.InDelta(t, 70, f.Coefficients[0], 1e-9)
	assert.InDelta(t, 1, f.Coefficients[1], 1e-11)
	assert.InDelta(t, 0, float64(f.ResidualSD), 1e-11)
	proposed, reason, err := calibrate.Propose(points(x, y))
	require.NoError(t, err)
	assert.Equal(t, 1, proposed.Degree(), reason)
}

// JCGM 100:2008, H.3: testdata/calibration/gum_h3.json.
func TestUncertaintyOfTheGuide(t *testing.T) {
	var g struct {
		X   []float64 `json:"t"`
		Y   []float64 `json:"b"`
		Out struct {
			U float64 `json:"u_b_at_30"`
		} `json:"recomputed"`
	}
	load(t, "gum_h3.json", &g)
	for i := range g.X {
		g.X[i] -= 20
	}
	f := fitted(t, points(g.X, g.Y), 1)
	assert.InDelta(t, -0.1712, f.Coefficients[0], 5e-5)
	assert.InDelta(t, 0.0029, f.CoefficientSD()[0], 5e-5)
	assert.InDelta(t, 0.00218, f.Coefficients[1], 5e-6)
	assert.InDelta(t, 0.00067, f.CoefficientSD()[1], 5e-6)
	r := f.Covariance[0][1] / f.CoefficientSD()[0] / f.CoefficientSD()[1]
	assert.InDelta(t, -0.930, r, 5e-4)
	assert.InDelta(t, -0.1494, float64(f.Force(10)), 5e-5)
	assert.InDelta(t, 0.0041, float64(f.MeanSD(10)), 5e-5)
	assert.InEpsilon(t, g.Out.U, float64(f.MeanSD(10)), nineDigits)
}

// Toluca data: testdata/calibration/prediction_interval_toluca.json.
func TestPredictionIntervalAsPublished(t *testing.T) {
	var g struct {
		X, Y      []float64
		Published map[string]float64 `json:"published_new_obs_x100"`
	}
	load(t, "prediction_interval_toluca.json", &g)
	f := fitted(t, points(g.X, g.Y), 1)
	at, half := float64(f.Force(100)), float64(f.Prediction(100, 0.90))
	assert.InDelta(t, g.Published["fit"], at, 1e-4)
	assert.InDelta(t, g.Published["lower"], at-half, 1e-4)
	assert.InDelta(t, g.Published["upper"], at+half, 1e-4)
}

// Other units and another zero of the reading change the coefficients and
// nothing of what is said in newtons.
func TestScalingAndShiftingTheReadings(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := []float64{0, 10, 20, 30, 40, 50, 60, 70, 80, 90}
		var y []float64
		for _, v := range x {
			y = append(y, 100*v+rapid.Float64Range(-5, 5).Draw(t, "noise"))
		}
		degree := rapid.IntRange(1, 3).Draw(t, "degree")
		scale := rapid.Float64Range(0.01, 1000).Draw(t, "scale")
		shift := rapid.Float64Range(-100, 100).Draw(t, "shift")
		before := fitted(t, points(x, y), degree)
		moved := make([]float64, len(x))
		for i := range x {
			moved[i] = scale * (x[i] + shift)
		}
		after := fitted(t, points(moved, y), degree)
		require.InDelta(t, float64(before.ResidualSD), float64(after.ResidualSD), 1e-6)
		for i := range x {
			require.InDelta(t, float64(before.Force(x[i])), float64(after.Force(moved[i])), 1e-5)
			require.InDelta(t, float64(before.Uncertainty95(x[i])), float64(after.Uncertainty95(moved[i])), 1e-5)
		}
	})
}

func TestWhatCannotBeFitted(t *testing.T) {
	same := points([]float64{5, 5, 5, 5}, []float64{1, 2, 3, 4})
	for _, p := range [][]calibrate.Point{nil, same, points([]float64{0, 1}, []float64{0, 1})} {
		_, err := calibrate.FitCurve(p, 1)
		assert.ErrorIs(t, err, calibrate.ErrFit)
	}
	_, err := calibrate.FitCurve(points([]float64{0, 1, 2, 3, 4, 5}, []float64{0, 1, 2, 3, 4, 5}), 4)
	assert.ErrorIs(t, err, calibrate.ErrFit)
}

func TestMonotone(t *testing.T) {
	cubic := calibrate.Curve{Coefficients: []float64{0, 1, -1, 0.3}} // slope 1-2x+0.9x², below zero from 0.74 to 1.48
	assert.False(t, cubic.MonotoneBetween(0, 2.2))
	assert.True(t, cubic.MonotoneBetween(0, 0.7))
	assert.True(t, calibrate.Curve{Coefficients: []float64{0, -3}}.MonotoneBetween(0, 9))
	assert.False(t, calibrate.Curve{Coefficients: []float64{0, 1, -0.1}}.MonotoneBetween(0, 6))
}

// A curve that misses its repeated points is less sure than their scatter
// about it says.
func TestLackOfFitWidens(t *testing.T) {
	var p []calibrate.Point
	for run := range 3 {
		for x := 0.0; x <= 100; x += 20 {
			p = append(p, calibrate.Point{Reading: x + 0.001*float64(run), Force: unit.Force(100*x + 0.1*x*x)})
		}
	}
	line, curve := fitted(t, p, 1), fitted(t, p, 2)
	assert.True(t, line.Misfit())
	assert.False(t, curve.Misfit())
	assert.Greater(t, line.Uncertainty95(50), line.Prediction(50, 0.95))
	assert.InEpsilon(t, float64(curve.Prediction(50, 0.95)), float64(curve.Uncertainty95(50)), 1e-12)
}

// With one point in the middle a quadratic is least sure there, not at the
// ends.
func TestLargestUncertaintyMayLieInTheMiddle(t *testing.T) {
	f := fitted(t, points([]float64{0, 0, 0, 0, 50, 100, 100, 100, 100}, []float64{0, 3, -2, 1, 5000, 10001, 9998, 10003, 9999}), 2)
	assert.Greater(t, f.Uncertainty95(50), f.Uncertainty95(100))
	assert.GreaterOrEqual(t, f.Absolute95(), f.Uncertainty95(50))
}

// Four runs of one force, as in testdata/calibration/iso376_constructed.json.
func TestRelativeErrors(t *testing.T) {
	var g map[string]any
	load(t, "iso376_constructed.json", &g)
	v := func(k string) float64 { return g[k].(float64) }
	const force = 20000
	var p []calibrate.Point
	add := func(run string, reading float64, f unit.Force, down bool) {
		p = append(p, calibrate.Point{Reading: reading, Force: f, Run: run, Down: down})
	}
	for i, up := range []string{"X1", "X2", "X3", "X5"} {
		run := strconv.Itoa(i + 1)
		add(run, v("i0"), 0, false)
		add(run, v(up), force, false)
		if down := map[string]string{"X3": "X4", "X5": "X6"}[up]; down != "" {
			add(run, v(down), force, true)
			add(run, v("if"), 0, true)
		}
	}
	f := fitted(t, p, 1)
	f.Curve = calibrate.Curve{Coefficients: []float64{0, force / v("Xa")}}
	e := f.RelativeErrors(0.0001)
	assert.InEpsilon(t, v("b"), *e.Reproducibility, nineDigits)
	assert.InEpsilon(t, v("b_prime"), *e.Repeatability, nineDigits)
	assert.InEpsilon(t, v("fc"), *e.Interpolation, 1e-6)
	assert.InEpsilon(t, v("f0"), *e.Zero, 1e-3) // of the largest deflection of its run, not of 2 exactly
	assert.InEpsilon(t, v("v"), *e.Reversibility, nineDigits)
	assert.Empty(t, e.Missing)
	assert.Equal(t, "00", e.Class)

	e = fitted(t, points([]float64{0, 1, 2, 3}, []float64{0, 1, 2, 3}), 1).RelativeErrors(0)
	assert.Len(t, e.Missing, 5)
	assert.Empty(t, e.Class)
}

func TestReadPoints(t *testing.T) {
	p, err := calibrate.ReadPoints(strings.NewReader("reading;force_kN;run;direction\n812;0;1;up\n1000;1.5;1;DOWN\n"))
	require.NoError(t, err)
	assert.Equal(t, []calibrate.Point{{Reading: 812, Run: "1"}, {Reading: 1000, Force: 1500, Run: "1", Down: true}}, p)
	for text, says := range map[string]string{
		"":                                    "empty",
		"reading,force_N\n1,2\n3\n":           "line 3",
		"reading,force_N\n1,2\n3,NaN\n":       "line 3",
		"reading,force_stone\n1,2\n":          "line 1",
		"reading,force_N,force_kN\n1,2,3\n":   "two columns of force",
		"reading\n1\n":                        "are needed",
		"reading,force_N,wind\n1,2,3\n":       "wind",
		"reading,force_N,direction\n1,2,in\n": "line 2",
	} {
		_, err := calibrate.ReadPoints(strings.NewReader(text))
		assert.ErrorContains(t, err, says, text)
	}
}

func FuzzReadPoints(f *testing.F) {
	f.Add("reading,force_N\n1,2\n")
	f.Add("reading;force_kN;run;direction\n1;2;a;up\n")
	f.Fuzz(func(t *testing.T, text string) {
		p, err := calibrate.ReadPoints(strings.NewReader(text))
		if err == nil && len(p) == 0 {
			t.Fatal("no points and no error")
		}
		for _, v := range p {
			if math.IsNaN(v.Reading) || math.IsInf(float64(v.Force), 0) {
				t.Fatalf("%+v is not finite", v)
			}
		}
	})
}
