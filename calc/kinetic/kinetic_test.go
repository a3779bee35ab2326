package kinetic_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/calc/kinetic"
	"tautlog/calc/unit"
)

// drawn is any plausible pull on a linear line without loss.
func drawn(t *rapid.T) kinetic.Pull {
	return kinetic.Pull{
		Puller:     unit.Mass(rapid.Float64Range(500, 20000).Draw(t, "m1")),
		Stuck:      unit.Mass(rapid.Float64Range(500, 20000).Draw(t, "m2")),
		Speed:      unit.Speed(rapid.Float64Range(0.2, 8).Draw(t, "v")),
		Line:       kinetic.Line{Curve: kinetic.Linear(rapid.Float64Range(5e3, 5e5).Draw(t, "k"))},
		Drive:      unit.Force(rapid.Float64Range(0, 40e3).Draw(t, "drive")),
		Resistance: unit.Force(rapid.Float64Range(0, 120e3).Draw(t, "resistance")),
		Fixed:      rapid.Bool().Draw(t, "fixed"),
	}
}

func TestSolveAgreesWithClosedForm(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := drawn(t)
		want, err := kinetic.Closed(p)
		require.NoError(t, err)
		got, err := kinetic.Solve(p, kinetic.Options{})
		require.NoError(t, err)
		assert.InEpsilon(t, float64(want.Peak), float64(got.Peak), 1e-6, "peak")
		assert.InEpsilon(t, float64(want.Stretch), float64(got.Stretch), 1e-6, "stretch")
		assert.InEpsilon(t, want.PeakAt, got.PeakAt, 1e-6, "time to peak")
		assert.InEpsilon(t, want.Energy, got.Energy, 2e-6, "energy")
		assert.Equal(t, want.Moves, got.Moves)
	})
}

func TestEnergyIsConserved(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := drawn(t)
		p.Moving = p.Resistance * unit.Force(rapid.Float64Range(0.2, 1).Draw(t, "moving"))
		p.Brake = unit.Force(rapid.Float64Range(0, 5e3).Draw(t, "brake"))
		p.Changes = []kinetic.Change{{At: rapid.Float64Range(0.1, 2).Draw(t, "lifts at"), Brake: 8000}}
		if rapid.Bool().Draw(t, "measured") {
			measured, err := kinetic.NewMeasured(points(t))
			require.NoError(t, err)
			p.Line.Curve = measured
		}
		p.Line.Loss = rapid.SampledFrom([]float64{0, 0.05, 0.3, 0.6}).Draw(t, "loss")
		got, err := kinetic.Solve(p, kinetic.Options{Until: 5})
		require.NoError(t, err)
		assert.InDelta(t, 0, imbalance(got.Ledger), 1e-6)
		if p.Line.Loss == 0 {
			assert.InDelta(t, 0, got.Ledger.Line/(got.Ledger.Start+got.Ledger.Drive), 1e-6, "a line without loss loses nothing")
		} else {
			assert.GreaterOrEqual(t, got.Ledger.Line, -1e-6*got.Ledger.Start, "a line never makes energy")
		}
	})
}

// A line let out to slack gives back the share 1 − Loss, whatever its curve:
// the puller is thrown back from a fixed end with √(1 − Loss) of its speed.
func TestLossIsWhatWasAskedFor(t *testing.T) {
	t.Parallel()
	measured, err := kinetic.NewMeasured([]kinetic.Point{{0.5, 8e3}, {1, 22e3}, {1.6, 50e3}, {2.2, 110e3}})
	require.NoError(t, err)
	for name, curve := range map[string]kinetic.Curve{"linear": kinetic.Linear(40e3), "measured": measured} {
		for _, loss := range []float64{0, 0.1, 0.35, 0.7} {
			p := kinetic.Pull{Puller: 2500, Speed: 3, Fixed: true, Line: kinetic.Line{Curve: curve, Loss: loss}}
			var last kinetic.Sample
			m, err := kinetic.Solve(p, kinetic.Options{Until: 3, Interval: 0.01, Each: func(s kinetic.Sample) { last = s }})
			require.NoError(t, err)
			require.Len(t, m.Slack, 1, name)
			assert.InEpsilon(t, -3*math.Sqrt(1-loss), float64(last.Speed), 1e-6, "%s, loss %g", name, loss)
			assert.InEpsilon(t, 2500*9/2.0, m.Energy, 1e-6, "all of the motion is in the line at the peak")
		}
	}
}

// Two equal masses on a spring, nothing holding: after one half period the
// puller stands and the other one has its speed, the cradle of textbooks.
func TestEqualMassesExchangeSpeed(t *testing.T) {
	t.Parallel()
	p := kinetic.Pull{Puller: 2000, Stuck: 2000, Speed: 4, Line: kinetic.Line{Curve: kinetic.Linear(50e3)}}
	var last kinetic.Sample
	m, err := kinetic.Solve(p, kinetic.Options{Until: 2, Interval: 0.5, Each: func(s kinetic.Sample) { last = s }})
	require.NoError(t, err)
	assert.InDelta(t, 0, float64(last.Speed), 1e-6)
	assert.InEpsilon(t, 4, float64(last.Dragged), 1e-6)
	require.Len(t, m.Slack, 1)
	assert.InEpsilon(t, math.Pi*math.Sqrt(1000/50e3), m.Slack[0], 1e-6, "half a period of the reduced mass")
}

// A sledge that slides s metres against R takes R·s: what is left over of the
// puller's energy when all stands.
func TestRestIsReachedAndStays(t *testing.T) {
	t.Parallel()
	p := kinetic.Pull{
		Puller: 2800, Stuck: 3200, Speed: 8 / 3.6, Brake: 2000, Resistance: 12e3,
		Line: kinetic.Line{Curve: kinetic.Linear(60e3), Loss: 0.2},
	}
	var last kinetic.Sample
	m, err := kinetic.Solve(p, kinetic.Options{Until: 30, Interval: 1, Each: func(s kinetic.Sample) { last = s }})
	require.NoError(t, err)
	assert.Zero(t, last.Speed)
	assert.Zero(t, last.Dragged)
	assert.InEpsilon(t, float64(m.Way)*12e3, m.Ledger.Ground, 1e-9)
	assert.Positive(t, m.Way)
	assert.InDelta(t, 0, m.Ledger.Motion, 1e-9)
	assert.LessOrEqual(t, math.Abs(float64(last.Force)), 2000.0, "what the brake of the puller can hold")
}

func TestDriverWhoDrivesOnTautensTheLineAgain(t *testing.T) {
	t.Parallel()
	p := kinetic.Pull{
		Puller: 2800, Speed: 3, Fixed: true, Drive: 9e3,
		Line: kinetic.Line{Curve: kinetic.Linear(60e3), Loss: 0.3},
	}
	m, err := kinetic.Solve(p, kinetic.Options{Until: 60})
	require.NoError(t, err)
	require.Greater(t, len(m.Slack), 1)
	require.Greater(t, len(m.Peaks), 4)
	for i := 1; i < len(m.Peaks); i++ {
		assert.Less(t, m.Peaks[i].Force, m.Peaks[i-1].Force, "each rebound is weaker")
	}
	last := m.Peaks[len(m.Peaks)-1].Force
	assert.InEpsilon(t, 9e3, float64(last), 0.25, "it comes to rest where the line balances the drive")
}

func TestHoldsAtTheEdgeOfMoving(t *testing.T) {
	t.Parallel()
	p := kinetic.Pull{Puller: 2500, Stuck: 3000, Speed: 2, Line: kinetic.Line{Curve: kinetic.Linear(30e3)}}
	peak := 2 * math.Sqrt(30e3*2500)
	for _, c := range []struct {
		share float64
		moves bool
	}{{0.999999, true}, {1.000001, false}} {
		p.Resistance = unit.Force(peak * c.share)
		m, err := kinetic.Solve(p, kinetic.Options{})
		require.NoError(t, err)
		assert.Equal(t, c.moves, m.Moves)
		assert.InEpsilon(t, peak, float64(m.Peak), 2e-6)
	}
}

func TestNothingHappensWithoutSpeedAndDrive(t *testing.T) {
	t.Parallel()
	p := kinetic.Pull{Puller: 2500, Stuck: 3000, Resistance: 10e3, Line: kinetic.Line{Curve: kinetic.Linear(30e3)}}
	for _, brake := range []unit.Force{0, 500} {
		p.Brake = brake
		m, err := kinetic.Solve(p, kinetic.Options{Until: 1})
		require.NoError(t, err)
		assert.Zero(t, m.Peak)
		m, err = kinetic.Solve(p, kinetic.Options{})
		require.NoError(t, err)
		assert.Zero(t, m.Peak)
	}
	p.Brake = 0
	r, err := kinetic.Closed(p)
	require.NoError(t, err)
	assert.Zero(t, r.Peak)
	assert.Zero(t, r.PeakAt)
}

func TestRefusesWhatCannotBeCalculated(t *testing.T) {
	t.Parallel()
	good := kinetic.Pull{Puller: 2500, Stuck: 3000, Speed: 2, Line: kinetic.Line{Curve: kinetic.Linear(30e3)}}
	require.NoError(t, good.Validate())
	for name, spoil := range map[string]func(*kinetic.Pull){
		"the mass of the puller cannot be 0":    func(p *kinetic.Pull) { p.Puller = 0 },
		"the mass of the stuck vehicle cannot":  func(p *kinetic.Pull) { p.Stuck = -1 },
		"the speed cannot be NaN":               func(p *kinetic.Pull) { p.Speed = unit.Speed(math.NaN()) },
		"the drive force cannot be -1":          func(p *kinetic.Pull) { p.Drive = -1 },
		"the brake force cannot":                func(p *kinetic.Pull) { p.Brake = unit.Force(math.Inf(1)) },
		"the resistance cannot be -5":           func(p *kinetic.Pull) { p.Resistance = -5 },
		"the resistance once moving cannot":     func(p *kinetic.Pull) { p.Moving = 5 },
		"no loading curve":                      func(p *kinetic.Pull) { p.Line.Curve = nil },
		"no stiffness":                          func(p *kinetic.Pull) { p.Line.Curve = kinetic.Linear(0) },
		"loss of the line is 1":                 func(p *kinetic.Pull) { p.Line.Loss = 1 },
		"change 1 of the driver at 0 s":         func(p *kinetic.Pull) { p.Changes = []kinetic.Change{{At: 0}} },
		"change 1 of the driver has a negative": func(p *kinetic.Pull) { p.Changes = []kinetic.Change{{At: 1, Drive: -1}} },
	} {
		p := good
		spoil(&p)
		_, err := kinetic.Solve(p, kinetic.Options{})
		require.ErrorIs(t, err, kinetic.ErrPull, name)
		require.ErrorContains(t, err, name)
		_, err = kinetic.Closed(p)
		require.ErrorIs(t, err, kinetic.ErrPull, name)
	}
	good.Line.Loss = 0.1
	_, err := kinetic.Closed(good)
	require.ErrorIs(t, err, kinetic.ErrPull, "no formula for a line with loss")
}

func TestSamplesFollowTheMotion(t *testing.T) {
	t.Parallel()
	const k, m, v = 30e3, 2500.0, 2.5
	p := kinetic.Pull{Puller: m, Speed: v, Fixed: true, Line: kinetic.Line{Curve: kinetic.Linear(k)}}
	w := math.Sqrt(k / m)
	n := 0
	_, err := kinetic.Solve(p, kinetic.Options{Until: 1, Interval: 0.001, Each: func(s kinetic.Sample) {
		want := math.Max(0, v/w*k*math.Sin(w*float64(n)*0.001))
		if s.At > math.Pi/w {
			want = 0
		}
		require.InDelta(t, want, float64(s.Force), 1e-6*v*math.Sqrt(k*m), "at %g s", s.At)
		require.InDelta(t, float64(n)*0.001, s.At, 1e-12)
		n++
	}})
	require.NoError(t, err)
	assert.Equal(t, 1001, n)
}

// imbalance is what the integration has lost or made out of nothing, relative
// to what came in.
func imbalance(l kinetic.Ledger) float64 {
	in := l.Start + l.Drive
	out := l.Motion + l.Stored + l.Line + l.Ground + l.Brake
	return (out - in) / math.Max(math.Abs(l.Start)+math.Abs(l.Drive), math.SmallestNonzeroFloat64)
}
