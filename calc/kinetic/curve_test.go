package kinetic_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/integrate/quad"
	"pgregory.net/rapid"

	"tautlog/calc/kinetic"
	"tautlog/calc/unit"
)

// points draws points of a loading curve.
func points(t *rapid.T) []kinetic.Point {
	var out []kinetic.Point
	x, f := 0.0, 0.0
	for range rapid.IntRange(1, 8).Draw(t, "points") {
		x += rapid.Float64Range(0.05, 1).Draw(t, "dx")
		f += rapid.Float64Range(100, 40e3).Draw(t, "df")
		out = append(out, kinetic.Point{Stretch: unit.Length(x), Force: unit.Force(f)})
	}
	return out
}

func TestMeasuredCurve(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		ps := points(t)
		m, err := kinetic.NewMeasured(ps)
		require.NoError(t, err)
		for _, p := range ps {
			assert.InEpsilon(t, float64(p.Force), m.Force(float64(p.Stretch)), 1e-9, "it goes through its points")
		}
		end := float64(m.Range())
		last := 0.0
		for n := 1; n <= 400; n++ {
			f := m.Force(1.3 * end * float64(n) / 400)
			require.GreaterOrEqual(t, f, last, "it never falls")
			last = f
		}
		x := rapid.Float64Range(0.01, 1.3).Draw(t, "x") * end
		work := 0.0
		knots := []float64{0}
		for _, p := range ps {
			knots = append(knots, math.Min(float64(p.Stretch), x))
		}
		for i, k := range append(knots[1:], x) { // a cubic a piece: exact by Gauss
			work += quad.Fixed(m.Force, knots[i], k, 4, nil, 0)
		}
		assert.InEpsilon(t, work, m.Energy(x), 1e-9)
	})
}

// Two points on a line, or one, make a linear curve.
func TestMeasuredLine(t *testing.T) {
	t.Parallel()
	for _, ps := range [][]kinetic.Point{{{2, 100e3}}, {{0, 0}, {2, 100e3}}, {{1, 50e3}, {2, 100e3}}} {
		m, err := kinetic.NewMeasured(ps)
		require.NoError(t, err)
		for _, x := range []float64{0.1, 1.5, 2, 3} {
			assert.InEpsilon(t, 50e3*x, m.Force(x), 1e-12)
			assert.InEpsilon(t, 25e3*x*x, m.Energy(x), 1e-12)
		}
	}
}

// A curve that flattens at its end does not go on flat: a guess must not make
// a peak lower.
func TestMeasuredGoesOnAsSteepAsItsLastPiece(t *testing.T) {
	t.Parallel()
	m, err := kinetic.NewMeasured([]kinetic.Point{{1, 13e3}, {1.2, 13.1e3}})
	require.NoError(t, err)
	assert.InEpsilon(t, 14.1e3, m.Force(3.2), 1e-9, "500 N/m on")
	assert.InEpsilon(t, m.Energy(1.2)+2*(13.1e3+14.1e3)/2, m.Energy(3.2), 1e-9)
	m, err = kinetic.NewMeasured([]kinetic.Point{{1, 1e3}, {1.2, 10e3}})
	require.NoError(t, err)
	assert.Greater(t, m.Force(3.2), 100e3, "no flatter than 45 kN/m")
}

func TestMeasuredRefusesWhatIsNoLoadingCurve(t *testing.T) {
	t.Parallel()
	for _, ps := range [][]kinetic.Point{
		nil, {{0, 0}}, {{1, 10}, {1, 20}}, {{1, 10}, {2, 10}}, {{1, 10}, {0.5, 20}}, {{0, 100}},
		{{unit.Length(math.NaN()), 1}}, {{1, unit.Force(math.Inf(1))}}, {{-1, 5}},
	} {
		_, err := kinetic.NewMeasured(ps)
		require.ErrorIs(t, err, kinetic.ErrCurve, "%v", ps)
	}
}

// Beyond the last measured point the curve is a guess, and Solve says so.
func TestSolveSaysWhenItLeftTheMeasuredPoints(t *testing.T) {
	t.Parallel()
	m, err := kinetic.NewMeasured([]kinetic.Point{{0.5, 10e3}, {1, 25e3}})
	require.NoError(t, err)
	for speed, outside := range map[unit.Speed]bool{1.5: false, 6: true} {
		got, err := kinetic.Solve(kinetic.Pull{Puller: 2500, Speed: speed, Fixed: true, Line: kinetic.Line{Curve: m}}, kinetic.Options{})
		require.NoError(t, err)
		assert.Equal(t, outside, got.Outside, "stretch %v", got.Stretch)
		assert.Equal(t, outside, got.Stretch > m.Range())
	}
}

// A recoiling part has all of the energy at the peak and no more.
func TestRecoilSpeed(t *testing.T) {
	t.Parallel()
	e := 9000.0
	v := float64(kinetic.RecoilSpeed(e, 3.2))
	assert.InEpsilon(t, e, 3.2*v*v/2, 1e-12)
	assert.InDelta(t, 13.5, float64(kinetic.KeepOut(9, 1.5)), 1e-12)
}

// The impulse of the line up to the peak is the momentum that the puller lost.
func TestSpeedLost(t *testing.T) {
	t.Parallel()
	p := kinetic.Pull{Puller: 2500, Speed: 3, Fixed: true, Line: kinetic.Line{Curve: cubic{20e3, 9e3}, Loss: 0.3}}
	m, err := kinetic.Solve(p, kinetic.Options{})
	require.NoError(t, err)
	impulse := 0.0
	_, err = kinetic.Solve(p, kinetic.Options{Until: m.PeakAt, Interval: m.PeakAt / 2000, Each: func(s kinetic.Sample) {
		w := 1.0
		if s.At == 0 || s.At > m.PeakAt*(1-1e-6) {
			w = 0.5
		}
		impulse += w * float64(s.Force) * m.PeakAt / 2000
	}})
	require.NoError(t, err)
	assert.InEpsilon(t, 3, float64(kinetic.SpeedLost(impulse, 2500)), 1e-3)
}
