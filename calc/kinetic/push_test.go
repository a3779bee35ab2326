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

// Work and energy, by hand: 10 kN on 2 t are 5 m/s²; over 4.9 m from 1 m/s
// that is √(1 + 49) m/s.
func TestRunUp(t *testing.T) {
	t.Parallel()
	v, ok := kinetic.RunUp(1, 2000, 10e3, 4.9)
	require.True(t, ok)
	assert.InEpsilon(t, math.Sqrt(50), float64(v), 1e-12)
	v, ok = kinetic.RunUp(5, 2000, -1e3, 4) // slowed by 0.5 m/s²
	require.True(t, ok)
	assert.InEpsilon(t, math.Sqrt(21), float64(v), 1e-12)
	_, ok = kinetic.RunUp(1, 2000, -1e3, 4)
	assert.False(t, ok, "it stops after 1 m")
	v, ok = kinetic.RunUp(0, 2000, 0, 0)
	assert.True(t, ok)
	assert.Zero(t, v)
}

// Two ways in a row are the whole way.
func TestRunUpAddsUp(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		v0 := unit.Speed(rapid.Float64Range(0.1, 8).Draw(t, "v0"))
		m := unit.Mass(rapid.Float64Range(500, 2e4).Draw(t, "m"))
		f := unit.Force(rapid.Float64Range(0, 5e4).Draw(t, "force"))
		s := unit.Length(rapid.Float64Range(0.1, 10).Draw(t, "way"))
		half, ok := kinetic.RunUp(v0, m, f, s/2)
		require.True(t, ok)
		twice, ok := kinetic.RunUp(half, m, f, s/2)
		require.True(t, ok)
		whole, ok := kinetic.RunUp(v0, m, f, s)
		require.True(t, ok)
		assert.InEpsilon(t, float64(whole), float64(twice), 1e-12)
	})
}

// A plan with slack is the plan that begins taut at the speed of the run-up.
func TestSlackIsSpeed(t *testing.T) {
	t.Parallel()
	p := ordinary()
	out := calculated(t, p)
	// 0.6·2800·9.80665 = 16.475 kN of the 20 asked for.
	limit := 0.6 * 2800 * 9.80665
	assert.InEpsilon(t, limit, float64(out.Push.Drive), 1e-12)
	assert.True(t, out.Push.Capped())
	want := math.Sqrt(4 + 2*(limit-500)/2800*2)
	assert.InEpsilon(t, want, float64(out.Pull.Speed), 1e-12)
	begins := p
	begins.Slack, begins.Speed = 0, unit.Speed(want)
	assert.InEpsilon(t, float64(calculated(t, begins).Peak), float64(out.Peak), 1e-9)
}

// On 30° the wheels press with √3/2 of the weight, and half of it pulls back.
func TestSlope(t *testing.T) {
	t.Parallel()
	p := ordinary()
	p.Drive, p.Grip, p.Slope = 100e3, &kinetic.Grip{Coefficient: 0.9, Driven: 0.8}, unit.Degrees(30)
	weight := 2800 * 9.80665
	push := calculated(t, p).Push
	assert.InEpsilon(t, 0.72*weight*math.Sqrt(3)/2, float64(*push.Limit), 1e-12)
	assert.InEpsilon(t, weight/2, float64(push.Weight), 1e-12)
	assert.InEpsilon(t, (0.72*math.Sqrt(3)/2-0.5)*weight, float64(push.Net()), 1e-9)
	p.Slope = -p.Slope
	down := calculated(t, p)
	assert.InEpsilon(t, (0.72*math.Sqrt(3)/2+0.5)*weight, float64(down.Pull.Drive), 1e-9)
	p.Slope = 0
	assert.Greater(t, down.Peak, calculated(t, p).Peak, "downhill the puller weighs in")
}
