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
		if rapid.Bool().Draw(t, "curved") {
			p.Strap = kinetic.Strap{Points: points(t), Loss: p.Strap.Loss}
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

// A strap that is soft up to 3 m and bottoms out there pulls less hard the
// stiffer it is: it stays clear of that end.
func TestFirstPeakOfAStrapThatBottomsOut(t *testing.T) {
	t.Parallel()
	p := kinetic.Plan{
		Puller: 1500, Stuck: 9000, Speed: 5.2, Fixed: true, Attempts: 3, Stiffening: 0.3,
		Strap: kinetic.Strap{Points: []kinetic.Point{{2.5, 9e3}, {2.9, 21e3}, {3.4, 60e3}}},
	}
	out := calculated(t, p)
	require.Less(t, out.Attempts[2].Peak, out.Attempts[0].Peak)
	peak, _, err := p.FirstPeak()
	require.NoError(t, err)
	assert.Equal(t, out.Peak, peak)
}
