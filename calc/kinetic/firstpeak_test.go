package kinetic_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/calc/kinetic"
	"tautlog/calc/unit"
)

// FirstPeak is what Calculate finds as the largest first peak, and rises with
// the speed and with the drive.
func TestFirstPeakIsThatOfTheHardestAttempt(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
		p := kinetic.Plan{
			Puller: unit.Mass(draw("puller", 1500, 5000)), Stuck: unit.Mass(draw("stuck", 1500, 5000)),
			Strap:      kinetic.Strap{Stiffness: unit.Stiffness(draw("stiffness", 2e4, 1e5)), Loss: draw("loss", 0.1, 0.4)},
			Speed:      unit.Speed(draw("speed", 0.5, 5)),
			Slack:      unit.Length(draw("slack", 0, 2)),
			Drive:      unit.Force(draw("drive", 0, 1e4)),
			Resistance: unit.Force(draw("hold", 1e3, 5e4)),
			Attempts:   rapid.IntRange(1, 3).Draw(t, "attempts"), Stiffening: draw("stiffening", 0, 0.1),
		}
		peak, taut, err := p.FirstPeak()
		require.NoError(t, err)
		out, err := p.Calculate()
		require.NoError(t, err)
		want := out.Peak
		for _, a := range out.Attempts {
			want = max(want, a.Peak)
		}
		assert.Equal(t, want, peak)
		assert.Equal(t, out.Pull.Speed, taut)
		p.Speed *= 1.01
		faster, _, err := p.FirstPeak()
		require.NoError(t, err)
		assert.Greater(t, faster, peak)
		_, _, err = kinetic.Plan{}.FirstPeak()
		assert.ErrorIs(t, err, kinetic.ErrPull)
	})
}
