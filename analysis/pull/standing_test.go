package pull_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
)

// straight is a force that goes straight from one point to the next.
func straight(points ...[2]float64) func(s float64) float64 {
	return func(s float64) float64 {
		for i := 1; i < len(points); i++ {
			a, b := points[i-1], points[i]
			if s < b[0] {
				return a[1] + (b[1]-a[1])*(max(s, a[0])-a[0])/(b[0]-a[0])
			}
		}
		return points[len(points)-1][1]
	}
}

// TestPreload: a line that is put under tension, slowly or not, stands, and is
// then loaded further: two jerks, each a pull from that tension.
func TestPreload(t *testing.T) {
	t.Parallel()
	for name, pre := range map[string]func(float64) float64{
		"in a minute":    straight([2]float64{10, 0}, [2]float64{70, 5e3}),
		"in two":         straight([2]float64{10, 0}, [2]float64{130, 8e3}),
		"in 10 s":        straight([2]float64{10, 0}, [2]float64{20, 5e3}),
		"in 3 s":         straight([2]float64{10, 0}, [2]float64{13, 12e3}),
		"it gives a bit": straight([2]float64{10, 0}, [2]float64{13, 9e3}, [2]float64{140, 8.6e3}),
	} {
		for _, rate := range []float64{10, 80, 1000} {
			b := quiet(rand.New(rand.NewPCG(1, 2)), rate, 230, 20, func(s float64) float64 {
				return 300 + pre(s) + pulse(s, 150, 0.9, 30e3) + pulse(s, 200, 0.8, 25e3)
			})
			found := find(pull.Config{Capacity: 100e3}, b, 1000)
			require.Len(t, found, 2, "%s, at %g a second", name, rate)
			checkSane(t, found)
			for i, p := range found {
				at, top := []float64{150, 200}[i], []float64{30e3, 25e3}[i]
				assert.Equal(t, pull.Kinetic, p.Kind, name)
				assert.Contains(t, p.Flags, pull.FlagStanding, name)
				assert.InDelta(t, at, float64(p.Start)/1e9, 0.15, "%s, at %g a second", name, rate)
				assert.InDelta(t, pre(at), float64(p.Standing), 100, name)
				assert.LessOrEqual(t, float64(p.PeakLow), pre(at)+top, name)
				assert.GreaterOrEqual(t, float64(p.PeakHigh), pre(at)+top, name)
				assert.Less(t, p.RiseTime, 0.5, name)
			}
		}
	}
}

// TestTowOfAnHour: loads on a tension that never goes, each a pull of its own.
func TestTowOfAnHour(t *testing.T) {
	t.Parallel()
	standing := straight([2]float64{60, 0}, [2]float64{64, 4e3}, [2]float64{1800, 4e3}, [2]float64{1801, 6e3}, [2]float64{3500, 6e3}, [2]float64{3502, 0})
	b := quiet(rand.New(rand.NewPCG(1, 2)), 80, 3600, 20, func(s float64) float64 {
		v := standing(s)
		if w := math.Mod(s, 300); w > 100 && w < 140 {
			v += 9e3 * min(1, (w-100)/3) * min(1, (140-w)/2) * (1 + 0.1*math.Sin(2*w))
		}
		return v
	})
	found := find(pull.Config{Capacity: 100e3}, b, 1000)
	require.Len(t, found, 12)
	for i, p := range found {
		at := 100 + 300*float64(i)
		assert.Equal(t, pull.Steady, p.Kind)
		assert.InDelta(t, at, float64(p.Start)/1e9, 0.2)
		assert.InDelta(t, at+40, float64(p.End)/1e9, 0.6)
		assert.InEpsilon(t, standing(at)+9.9e3, float64(p.Peak), 0.01)
		assert.InDelta(t, standing(at), float64(p.Standing), 100)
	}
}

// TestWinchRests: a winch that stops and holds the load, lower than it pulled,
// has two pulls; what it holds is not a third.
func TestWinchRests(t *testing.T) {
	t.Parallel()
	b := made(110, straight([2]float64{5, 0}, [2]float64{8, 20e3}, [2]float64{25, 22e3}, [2]float64{26, 8e3}, [2]float64{60, 7.8e3},
		[2]float64{63, 20e3}, [2]float64{80, 22e3}, [2]float64{81, 0}))
	found := find(pull.Config{Capacity: capacity}, b, 1000)
	require.Len(t, found, 2)
	assert.InDelta(t, 26, float64(found[0].End)/1e9, 1)
	assert.InDelta(t, 60, float64(found[1].Start)/1e9, 1)
	assert.InDelta(t, 7.8e3, float64(found[1].Standing), 150)
	// One that is let go from where it stood is one pull.
	b = made(60, straight([2]float64{5, 0}, [2]float64{8, 9e3}, [2]float64{40, 8.8e3}, [2]float64{41, 0}))
	p := one(t, b)
	assert.InDelta(t, 41, float64(p.End)/1e9, 0.1)
	assert.NotContains(t, p.Flags, pull.FlagStanding)
}
