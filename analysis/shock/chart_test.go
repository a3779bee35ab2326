package shock_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/analysis/shock"
)

// TestChartSpeed: every kinetic pull with the strap is a point with its own
// interval, and the curves are what the fit says of a pull of that speed.
func TestChartSpeed(t *testing.T) {
	t.Parallel()
	pulls := withSpeed(t, rand.New(rand.NewPCG(41, 1)), 50, 8, 0.05, 0.1)
	pulls[0].Class.Strap, pulls[1].Class.Strap = "rope", "rope"
	pulls[0].High = pulls[0].Peak * 1.2
	pulls[1].Flags = []string{pull.FlagOverload}
	c, err := shock.ChartSpeed(pulls, shock.Pull{Puller: 2800, Reference: 3200, StrapLength: 9, StrapMBS: 100e3})
	require.NoError(t, err)
	assert.Equal(t, "rope", c.Pull.Class.Strap, "the one with the most pulls")
	f, _ := shock.FitSpeed(pulls)
	seen := map[string]int{}
	for _, g := range c.Grounds {
		slowest, fastest := math.Inf(1), 0.0
		for _, p := range g.Points {
			seen[p.Pull.Class.Strap]++
			assert.Equal(t, g.Ground, p.Pull.Class.Ground)
			assert.InDelta(t, float64(p.Pull.Peak/p.Pull.Reference.Weight()), p.Factor, 1e-12)
			switch {
			case p.Pull.High > 0:
				assert.False(t, p.Exact())
				assert.InEpsilon(t, 1.2*p.Factor, p.High, 1e-9)
			case len(p.Pull.Flags) > 0:
				assert.True(t, p.Open())
			default:
				assert.True(t, p.Exact())
			}
			slowest, fastest = math.Min(slowest, float64(p.Pull.Speed)), math.Max(fastest, float64(p.Pull.Speed))
		}
		require.NotEmpty(t, g.Curve)
		assert.InDelta(t, slowest, float64(g.Curve[0].Speed), 1e-9, "no curve where nothing was measured")
		assert.InDelta(t, fastest, float64(g.Curve[len(g.Curve)-1].Speed), 1e-9)
		for _, k := range g.Curve {
			like := c.Pull
			like.Class.Ground, like.Speed = g.Ground, k.Speed
			expected, upper, err := f.Peak(like)
			require.NoError(t, err)
			assert.InEpsilon(t, float64(expected/like.Reference.Weight()), k.Expected, 1e-9)
			assert.InEpsilon(t, float64(*upper/like.Reference.Weight()), *k.Upper, 1e-9)
			assert.Greater(t, *k.Upper, k.Expected)
		}
	}
	ropes := 0
	for _, p := range pulls {
		if p.Class.Strap == "rope" {
			ropes++
		}
	}
	assert.Equal(t, map[string]int{"rope": ropes}, seen)

	_, err = shock.ChartSpeed(pulls, shock.Pull{Class: shock.Class{Strap: "chain"}})
	require.ErrorIs(t, err, shock.ErrChart)
	require.ErrorContains(t, err, "chain")
	few, err := shock.ChartSpeed(pulls[:3], shock.Pull{})
	require.NoError(t, err, "three pulls can be drawn")
	for _, g := range few.Grounds {
		assert.Empty(t, g.Curve, "but not fitted")
	}
	_, err = shock.ChartSpeed([]shock.Pull{logged("1", mud, 1.5)}, shock.Pull{})
	require.ErrorIs(t, err, shock.ErrChart)
}

// TestChartResiduals: each pull of the fit once, on its own ground and day.
func TestChartResiduals(t *testing.T) {
	t.Parallel()
	pulls := withSpeed(t, rand.New(rand.NewPCG(41, 2)), 40, 7, 0.05, 0.1)
	c, err := shock.ChartResiduals(pulls)
	require.NoError(t, err)
	count, days := 0, map[string]bool{}
	for _, g := range c.Grounds {
		for _, r := range g.Residuals {
			assert.Equal(t, g.Ground, r.Pull.Class.Ground)
			count++
			days[r.Pull.Day] = true
		}
	}
	assert.Equal(t, 40, count)
	assert.Len(t, c.Days, len(days))
	assert.Equal(t, pulls[0].Day, c.Days[0], "in the order of the log")
	_, err = shock.ChartResiduals(pulls[:3])
	require.ErrorIs(t, err, shock.ErrChart)
}

// TestChartClasses: the classes of the fit, each with its own pulls.
func TestChartClasses(t *testing.T) {
	t.Parallel()
	pulls := newClub(rand.New(rand.NewPCG(41, 3))).pulls
	c, err := shock.ChartClasses(pulls, 3)
	require.NoError(t, err)
	assert.InDelta(t, 3, c.Assumed, 0)
	set, count := shock.Fit(pulls), 0
	require.Len(t, c.Classes, len(set.Classes))
	for i, k := range c.Classes {
		assert.Equal(t, set.Classes[i], k.Fit)
		assert.Len(t, k.Points, k.Fit.Pulls)
		for _, p := range k.Points {
			assert.Equal(t, k.Fit.Class, p.Pull.Class)
			count++
		}
	}
	assert.Equal(t, len(pulls), count)
	_, err = shock.ChartClasses(nil, 0)
	require.ErrorIs(t, err, shock.ErrChart)
}
