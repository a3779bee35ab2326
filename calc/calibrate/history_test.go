package calibrate_test

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"tautlog/calc/calibrate"
	"tautlog/calc/unit"
)

// kept makes a calibration of points as it would be kept.
func kept(t require.TestingT, points []calibrate.Point, degree int) calibrate.Kept {
	fit, err := calibrate.FitCurve(points, degree)
	require.NoError(t, err)
	k := calibrate.Keep(fit, "", 0)
	k.From = "2026-05-02T00:00:00Z"
	return k
}

// inForce is the only calibration of a cell.
func inForce(t require.TestingT, k calibrate.Kept) *calibrate.InForce {
	h, err := calibrate.NewHistory(calibrate.Curve{Coefficients: []float64{0, 1}}, []calibrate.Kept{k}, nil)
	require.NoError(t, err)
	return h.At(math.MaxInt64 - 1)
}

// JCGM 100:2008, H.3 as published (y1 = -0.1712, s = 0.0035, b(30) = -0.1494
// with u = 0.0041, 9 degrees of freedom): the interval of a new value there is
// t·√(s² + u²), and a stated uncertainty of the standards comes on top.
func TestTheGuidesLineGivesTheInterval(t *testing.T) {
	t.Parallel()
	var guide struct {
		T []float64 `json:"t"`
		B []float64 `json:"b"`
	}
	raw, err := os.ReadFile(filepath.Join(folder, "gum_h3.json"))
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(raw, &guide))
	var points []calibrate.Point
	for i, x := range guide.T {
		points = append(points, calibrate.Point{Reading: x, Force: unit.Force(guide.B[i])})
	}
	k := kept(t, points, 1)
	at30 := k.Curve.Force(30)
	assert.InDelta(t, -0.1494, float64(at30), 5e-5)
	q := distuv.StudentsT{Sigma: 1, Nu: 9}.Quantile(0.975)
	want := q * math.Hypot(0.0034975639635052803, 0.0041385957528549434)
	half, ok := inForce(t, k).Half95(at30)
	require.True(t, ok)
	assert.InEpsilon(t, want, float64(half), 1e-9)

	k.Certificate = &calibrate.Certificate{Number: "LF-1", Absolute95: 0.01}
	half, ok = inForce(t, k).Half95(at30)
	require.True(t, ok)
	assert.InEpsilon(t, math.Hypot(want, 0.01), float64(half), 1e-9)
}

// Over random calibrations of a cell whose true curve is known, the interval
// of a force that is read through the curve holds the true force in 93 to 97 of
// 100: with the degree proposed, noise in every reading, and the known forces
// off together by what their certificate allows.
func TestTheIntervalHoldsTheTruth(t *testing.T) {
	t.Parallel()
	const trials = 4000
	r := rand.New(rand.NewPCG(20260517, 3))
	for _, stated := range []float64{0, 0.001} {
		held := 0
		for range trials {
			if heldTruth(t, r, stated) {
				held++
			}
		}
		share := float64(held) / trials
		t.Logf("stated uncertainty of the known forces %g: held %.1f of 100", stated, 100*share)
		assert.InDelta(t, 0.95, share, 0.02, "stated %g", stated)
	}
}

// heldTruth makes up a cell, calibrates it, and reads one force with it.
func heldTruth(t *testing.T, r *rand.Rand, stated float64) bool {
	truth := calibrate.Curve{Coefficients: []float64{400 * r.NormFloat64(), 4, 1e-6 * r.NormFloat64()}}
	noise := math.Exp(math.Log(2) + r.Float64()*math.Log(20)) // 2 to 40 counts
	off := 1 + stated/1.959964*r.NormFloat64()
	read := func(f unit.Force) float64 {
		x, ok := truth.Reading(f)
		require.True(t, ok)
		return x + noise*r.NormFloat64()
	}
	var points []calibrate.Point
	steps, runs := 6+r.IntN(6), 1+r.IntN(3)
	for range runs {
		for i := range steps {
			f := unit.Force(100e3 * float64(i) / float64(steps-1))
			points = append(points, calibrate.Point{Reading: read(f), Force: unit.Force(float64(f) * off)})
		}
	}
	fit, _, err := calibrate.Propose(points)
	require.NoError(t, err)
	k := calibrate.Kept{Curve: fit.Curve, Points: points, From: "2026-05-02T00:00:00Z"}
	if stated > 0 {
		k.Certificate = &calibrate.Certificate{Number: "LF-1", Relative95: stated}
	}
	f := unit.Force(100e3 * r.Float64())
	got := k.Curve.Force(read(f))
	half, ok := inForce(t, k).Half95(got)
	require.True(t, ok)
	return got-half <= f && f <= got+half
}

// The unit in which the known forces are written changes nothing.
func TestTheUnitOfTheKnownForcesChangesNothing(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		degree := rapid.IntRange(1, 3).Draw(t, "degree")
		n := rapid.IntRange(8, 20).Draw(t, "points")
		var tables [3]strings.Builder
		units := []unit.ForceUnit{unit.Newton, unit.Kilonewton, unit.PoundF}
		for i, u := range units {
			fmt.Fprintf(&tables[i], "reading,force_%s\n", u)
		}
		for i := range n {
			f := unit.Force(5000*float64(i) + rapid.Float64Range(-20, 20).Draw(t, "off"))
			for j, u := range units {
				fmt.Fprintf(&tables[j], "%d,%.17g\n", 1300*i+7, f.In(u))
			}
		}
		var first *calibrate.InForce
		for i := range tables {
			points, err := calibrate.ReadPoints(strings.NewReader(tables[i].String()))
			require.NoError(t, err)
			now := inForce(t, kept(t, points, degree))
			if first == nil {
				first = now
			}
			for _, x := range []float64{100, 9000, 1300 * float64(n)} {
				f := first.Curve.Force(x)
				assert.InDelta(t, float64(f), float64(now.Curve.Force(x)), 1e-5)
				a, _ := first.Half95(f)
				b, _ := now.Half95(f)
				assert.InEpsilon(t, float64(a), float64(b), 1e-6)
			}
		}
	})
}

// What is in force at a moment, against the rule said the slow way.
func TestWhatIsInForce(t *testing.T) {
	t.Parallel()
	start := time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC)
	rapid.Check(t, func(t *rapid.T) {
		setUp := calibrate.Curve{Coefficients: []float64{0, 1}}
		var ks []calibrate.Kept
		for i := range rapid.IntRange(0, 5).Draw(t, "calibrations") {
			at := start.Add(time.Duration(rapid.IntRange(0, 6).Draw(t, "from")) * time.Hour)
			ks = append(ks, calibrate.Kept{Number: i + 1, From: at.Format(time.RFC3339), Curve: calibrate.Curve{Coefficients: []float64{float64(i), 2 + float64(i)}}})
		}
		var zs []calibrate.Zero
		for range rapid.IntRange(0, 4).Draw(t, "zeros") {
			at := start.Add(time.Duration(rapid.IntRange(0, 12).Draw(t, "at")) * 30 * time.Minute)
			zs = append(zs, calibrate.Zero{At: at.UnixNano(), Reading: rapid.Float64Range(-50, 50).Draw(t, "zero")})
		}
		h, err := calibrate.NewHistory(setUp, rapid.Permutation(ks).Draw(t, "order"), zs)
		require.NoError(t, err)
		at := start.Add(time.Duration(rapid.IntRange(-2, 14).Draw(t, "asked")) * 30 * time.Minute).UnixNano()
		curve, number, zero := setUp, 0, (*calibrate.Zero)(nil)
		var from int64 = math.MinInt64
		for _, k := range ks {
			since, err := time.Parse(time.RFC3339, k.From)
			require.NoError(t, err)
			if ns := since.UnixNano(); ns <= at && ns >= from {
				curve, number, from = k.Curve, k.Number, ns
			}
		}
		for i, z := range zs {
			if z.At <= at && (zero == nil || z.At >= zero.At) {
				zero = &zs[i]
			}
		}
		got := h.At(at)
		assert.Equal(t, number, got.Number())
		assert.True(t, got.From <= at && at < got.Until)
		want := curve.Force(100)
		if zero != nil {
			want -= curve.Force(zero.Reading)
			assert.InDelta(t, 0, float64(got.Curve.Force(zero.Reading)), 1e-9, "the zero reads zero")
		}
		assert.InDelta(t, float64(want), float64(got.Curve.Force(100)), 1e-9)
	})
}

func TestWhatCannotBeKept(t *testing.T) {
	t.Parallel()
	line := []calibrate.Point{{Reading: 0}, {Reading: 1, Force: 2}, {Reading: 2, Force: 4.1}, {Reading: 3, Force: 6}}
	good := kept(t, line, 1)
	require.NoError(t, good.Check())
	for name, spoil := range map[string]func(*calibrate.Kept){
		"a curve that is not that of its points": func(k *calibrate.Kept) { k.Curve = calibrate.Curve{Coefficients: []float64{0, 2.2}} },
		"no moment":                              func(k *calibrate.Kept) { k.From = "May" },
		"no curve":                               func(k *calibrate.Kept) { k.Curve = calibrate.Curve{} },
		"nothing to rest on":                     func(k *calibrate.Kept) { k.Points = nil },
		"a date that is none":                    func(k *calibrate.Kept) { k.Certificate = &calibrate.Certificate{Number: "1", Expires: "soon"} },
		"a range that is none":                   func(k *calibrate.Kept) { k.Certificate = &calibrate.Certificate{Number: "1", Low: 5, High: 4} },
		"an uncertainty above the force":         func(k *calibrate.Kept) { k.Certificate = &calibrate.Certificate{Number: "1", Relative95: 1} },
		"an uncertainty beside the paper":        func(k *calibrate.Kept) { k.Curve.Relative95 = 0.01 },
	} {
		k := good
		spoil(&k)
		assert.ErrorIs(t, k.Check(), calibrate.ErrKept, name)
	}
}

// A certificate holds until the end of its last day.
func TestExpiry(t *testing.T) {
	t.Parallel()
	c := &calibrate.Certificate{Number: "LF-1", Expires: "2027-05-02"}
	assert.False(t, c.Expired(time.Date(2027, 5, 2, 23, 59, 59, 0, time.UTC).UnixNano()))
	assert.True(t, c.Expired(time.Date(2027, 5, 3, 0, 0, 0, 0, time.UTC).UnixNano()))
	assert.False(t, (*calibrate.Certificate)(nil).Expired(math.MaxInt64))
}
