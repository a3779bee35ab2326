package rehearse_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/calc/kinetic"
	"tautlog/calc/unit"
	"tautlog/ingest/rehearse"
)

func random() *rand.Rand { return rand.New(rand.NewPCG(1, 2)) }

// The peak that is played is the peak that the formula gives.
func TestKineticTrackHasThePeakOfTheFormula(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := kinetic.Pull{
			Puller: unit.Mass(rapid.Float64Range(1500, 6000).Draw(t, "m1")), Stuck: unit.Mass(rapid.Float64Range(1500, 6000).Draw(t, "m2")),
			Speed:      unit.Speed(rapid.Float64Range(1, 5).Draw(t, "v")),
			Line:       kinetic.Line{Curve: kinetic.Linear(rapid.Float64Range(15e3, 90e3).Draw(t, "k"))},
			Resistance: unit.Force(rapid.Float64Range(1e3, 60e3).Draw(t, "r")),
		}
		want, err := kinetic.Closed(p)
		require.NoError(t, err)
		track, err := rehearse.Kinetic{Pull: p, Seconds: 3}.Render(random())
		require.NoError(t, err)
		peak, at := track.Peak()
		assert.InEpsilon(t, float64(want.Peak), float64(peak), 1e-4)
		assert.InDelta(t, want.PeakAt, at, 0.001)
		assert.Zero(t, track.Force(-0.001))
		assert.Zero(t, track.Force(track.Length()))
	})
}

// A line that is still taut when the motion ends is let off, not cut.
func TestKineticTrackEndsSlack(t *testing.T) {
	t.Parallel()
	p := kinetic.Pull{Puller: 2900, Speed: 2, Drive: 6e3, Fixed: true, Line: kinetic.Line{Curve: kinetic.Linear(40e3), Loss: 0.4}}
	track, err := rehearse.Kinetic{Pull: p, Seconds: 8, LetOff: 0.5}.Render(random())
	require.NoError(t, err)
	assert.InDelta(t, 8.5, track.Length(), 1e-9)
	assert.InEpsilon(t, 6e3, track.Force(7.99), 0.3, "the drive holds the line taut")
	last := track.Force(7.99)
	for s := 8.0; s < 8.51; s += 0.01 {
		f := track.Force(s)
		require.Less(t, math.Abs(f-last), 0.1*6e3, "no jump at %g s", s)
		last = f
	}
	assert.Zero(t, last)
}

func TestKineticTrackRefusesImpossiblePull(t *testing.T) {
	t.Parallel()
	_, err := rehearse.Kinetic{}.Render(random())
	require.ErrorIs(t, err, kinetic.ErrPull)
}

func TestSteadyTrackWorksAboutItsLevel(t *testing.T) {
	t.Parallel()
	s := rehearse.Steady{Level: 20e3, Ramp: 2, Work: 60, Release: 1, StickSlip: 4e3, Stick: 0.8, Swing: 500, SwingHz: 0.3}
	track, err := s.Render(random())
	require.NoError(t, err)
	assert.InDelta(t, 63, track.Length(), 1e-9)
	low, high, sum, n, drops := math.Inf(1), 0.0, 0.0, 0, 0
	for at := 3.0; at < 61; at += 0.01 {
		f := track.Force(at)
		low, high = math.Min(low, f), math.Max(high, f)
		if track.Force(at+0.06)-f < -1500 && track.Force(at)-track.Force(at-0.01) > -200 {
			drops++
		}
		sum += f
		n++
	}
	assert.InEpsilon(t, 20e3, sum/float64(n), 0.03, "mean")
	assert.InDelta(t, 20e3+1.4*2e3+500, high, 900, "top")
	assert.InDelta(t, 20e3-1.4*2e3-500, low, 900, "bottom")
	assert.Greater(t, drops, 40, "slips")
}

func TestProofTrackRampsHoldsAndRelaxes(t *testing.T) {
	t.Parallel()
	track, err := rehearse.Proof{Level: 40e3, Ramp: 3, Hold: 10, Release: 1, Relax: 0.03}.Render(random())
	require.NoError(t, err)
	peak, at := track.Peak()
	assert.InEpsilon(t, 40e3, float64(peak), 1e-9)
	assert.InDelta(t, 3, at, 0.001)
	for s := 0.0; s < 2.985; s += 0.01 {
		require.LessOrEqual(t, track.Force(s), track.Force(s+0.01), "the ramp never falls")
	}
	for s := 3.0; s < 13.9; s += 0.01 {
		require.GreaterOrEqual(t, track.Force(s), track.Force(s+0.01), "the hold never rises")
	}
	assert.InEpsilon(t, 40e3*0.97, track.Force(13), 1e-9)
	assert.InEpsilon(t, 40e3*(1-0.015), track.Force(3+10/6.0), 1e-3, "half of it in a sixth of the time")
}
