package calibrate_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/calibrate"
	"tautlog/calc/unit"
)

// seconds makes readings, hz a second, of a course in readings over time.
func seconds(lasts, hz float64, course func(t float64) float64) (t, raw []int64) {
	for i := range int(lasts*hz) + 1 {
		at := float64(i) / hz
		t, raw = append(t, int64(at*1e9)), append(raw, int64(math.Round(course(at))))
	}
	return t, raw
}

func TestSteady(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(1, 2))
	noisy := func(sd float64) float64 { return sd * r.NormFloat64() }
	for name, c := range map[string]struct {
		lasts, hz float64
		course    func(float64) float64
		why       string // empty: steady
	}{
		"at rest":            {3, 1000, func(float64) float64 { return 812 + noisy(5) }, ""},
		"ten a second":       {3, 10, func(float64) float64 { return 812 + noisy(5) }, ""},
		"one step":           {3, 80, func(float64) float64 { return 812.5 + 0.4*math.Sin(9*r.Float64()) }, ""},
		"still coming":       {3, 1000, func(t float64) float64 { return 812 + 10*t + noisy(5) }, "it drifts"},
		"relaxing":           {3, 10, func(t float64) float64 { return 20000 - 40*t + noisy(2) }, "it drifts"},
		"a load that swings": {3, 1000, func(t float64) float64 { return 20000 + 100*math.Sin(2*math.Pi*t/1.5) }, "it swings"},
		"too short":          {2, 1000, func(float64) float64 { return 812 }, "so far"},
		"too few":            {3, 2, func(float64) float64 { return 812 }, "so far"},
	} {
		at, raw := seconds(c.lasts, c.hz, c.course)
		s := calibrate.Steady(at, raw, false, 25000)
		assert.Equal(t, c.why == "", s.Steady, "%s: %s", name, s.Why)
		assert.Contains(t, s.Why, c.why, name)
	}
	at, raw := seconds(3, 100, func(float64) float64 { return 812 })
	assert.Contains(t, calibrate.Steady(at, raw, true, 25000).Why, "void")
	for i := 150; i < len(at); i++ {
		at[i] += 5e8
	}
	assert.Contains(t, calibrate.Steady(at, raw, false, 25000).Why, "missing")
	assert.False(t, calibrate.Steady(nil, nil, false, 25000).Steady)
}

// Noise alone seldom keeps a load from being taken: of 1000 loads that hang
// still, with noise well below the limit, at least 95 of 100 are steady.
func TestNoiseAloneSeldomCountsAsDrift(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(3, 4))
	steady := 0
	for range 1000 {
		at, raw := seconds(3, 10, func(float64) float64 { return 9000 + 8*r.NormFloat64() })
		if calibrate.Steady(at, raw, false, 25000).Steady {
			steady++
		}
	}
	assert.GreaterOrEqual(t, steady, 950)
}

// A check is off by what the cell reads, a zero set by hand does not hide the
// drift of the zero, and beyond the interval of the calibration it is a fault.
func TestCheck(t *testing.T) {
	t.Parallel()
	k := calibrate.Kept{
		Number: 1, From: "2026-01-01T00:00:00Z", Curve: calibrate.Curve{Coefficients: []float64{-3200, 4}},
		Certificate: &calibrate.Certificate{Number: "LF-1", Absolute95: 50, Relative95: 0.002},
	}
	hand := calibrate.Zero{At: 10, Reading: 850}
	h, err := calibrate.NewHistory(calibrate.Curve{Coefficients: []float64{0, 1}}, []calibrate.Kept{k}, []calibrate.Zero{hand})
	require.NoError(t, err)
	now := h.At(math.MaxInt64 - 1)
	slack := now.Check(calibrate.Steadiness{Mean: 850}, 0, 0, nil)
	assert.InDelta(t, 200, float64(slack.Off()), 1e-9)
	assert.True(t, slack.Fault())
	assert.Equal(t, "Slack, the cell reads 0.200 kN. That is beyond the ±0.050 kN (95 %) of its calibration: a fault of the cell, its plug or its mounting. It is not corrected away. Look for the cause and check again, or have the cell calibrated.",
		slack.Says(unit.Kilonewton))
	zero := 850.0
	load := now.Check(calibrate.Steadiness{Mean: 850 + 2505}, 10e3, 0, &zero)
	assert.InDelta(t, 20, float64(load.Off()), 1e-9)
	assert.False(t, load.Fault())
	assert.InDelta(t, math.Hypot(50, 0.002*10220), float64(*load.Half95), 1e-6)
	assert.Contains(t, load.Says(unit.Kilonewton), "Under 10.000 kN the cell reads 10.020 kN, off by 0.020 kN. That is within the ±0.054 kN")

	bare, err := calibrate.NewHistory(calibrate.Curve{Coefficients: []float64{0, 1}}, nil, nil)
	require.NoError(t, err)
	unknown := bare.At(0).Check(calibrate.Steadiness{Mean: 850}, 0, 0, nil)
	assert.False(t, unknown.Fault())
	assert.Contains(t, unknown.Says(unit.Kilonewton), "cannot be judged")
}

// The lower limit factor is not below one step of the reading.
func TestLowerLimitFactorHasAFloor(t *testing.T) {
	t.Parallel()
	fit, err := calibrate.FitCurve([]calibrate.Point{{Reading: 0}, {Reading: 10, Force: 40.1}, {Reading: 20, Force: 80}, {Reading: 30, Force: 120}}, 1)
	require.NoError(t, err)
	assert.InEpsilon(t, 2.4*float64(fit.ResidualSD), float64(fit.LLF(0)), 1e-12)
	assert.InDelta(t, 4, float64(fit.LLF(1)), 0.01)
	assert.InDelta(t, 1600, float64(fit.LoadingRanges(1)[0].Low), 4)
}
