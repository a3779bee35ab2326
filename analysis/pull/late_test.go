package pull_test

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
)

// TestNoReboundIsLost: a load that comes back after a kinetic pull is in it, as
// a rebound, or is a pull of its own that says what it may be, whenever it
// comes and however the trace is split.
func TestNoReboundIsLost(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(30, 4))
	const start, length, top = 8.0, 0.5, 40e3
	for _, height := range []float64{30e3, 24e3, 8e3, 1500} {
		for _, after := range []float64{0.5, 2, 2.9, 3.1, 3.6, 5.5, 7, 12} {
			b := quiet(r, 1000, 30, 28, func(s float64) float64 {
				return pulse(s, start, length, top) + pulse(s, start+length+after, 0.4, height)
			})
			found := find(pull.Config{Capacity: capacity}, b, 777)
			require.Equal(t, found, find(pull.Config{Capacity: capacity}, b, 64))
			back := start + length + after
			last := found[len(found)-1]
			assert.InDelta(t, back+0.4, float64(last.End)/1e9, 0.05, "%g N after %g s is in no pull", height, after)
			switch {
			case after < 3:
				require.Len(t, found, 1)
			default:
				require.Len(t, found, 2)
				assert.InEpsilon(t, height, float64(last.Peak), 0.05)
				may := after <= 6 && height < 0.7*top
				assert.Equal(t, may, slices.Contains(last.Flags, pull.FlagLate), "%g N after %g s: %v", height, after, last.Remarks)
				attempts := pull.Attempts(found, pull.SameBogging)
				assert.Equal(t, map[bool]int{true: 1, false: 2}[may], attempts[1].N)
				assert.Equal(t, attempts[0].Of, attempts[1].Of)
			}
		}
	}
}

// TestALateReboundIsToldAtOnce: while it may still go on, too; and rebounds of
// rebounds are held against the pull that they came from.
func TestALateReboundIsToldAtOnce(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(30, 5))
	b := quiet(r, 1000, 30, 20, func(s float64) float64 {
		return pulse(s, 3, 0.5, 40e3) + pulse(s, 7, 0.4, 10e3) + pulse(s, 11, 0.4, 9e3)
	})
	f := pull.NewFinder(pull.Config{Capacity: capacity})
	var found []pull.Pull
	found = append(found, f.Push(b.Slice(0, 7450))...)
	now, ok := f.Current()
	require.True(t, ok)
	assert.Contains(t, now.Flags, pull.FlagLate)
	found = append(found, f.Push(b.Slice(7450, b.Len()))...)
	found = append(found, f.Close()...)
	require.Len(t, found, 3)
	assert.NotContains(t, found[0].Flags, pull.FlagLate)
	assert.Contains(t, found[1].Flags, pull.FlagLate)
	assert.Contains(t, found[2].Flags, pull.FlagLate, "nine tenths of the rebound before it, and a quarter of the pull")
	assert.Equal(t, 1, pull.Attempts(found, pull.SameBogging)[2].Of)
}

// TestALoadOnALineStillLoadedIsAPull: the line keeps a light load after a pull;
// a load that is more than light is a pull then.
func TestALoadOnALineStillLoadedIsAPull(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(30, 6))
	b := quiet(r, 1000, 30, 30, func(s float64) float64 {
		light := 0.0
		if s > 8.4 {
			light = 3000
		}
		return light + pulse(s, 8, 0.5, 40e3) + pulse(s, 16, 0.4, 4500)
	})
	found := find(pull.Config{Capacity: capacity}, b, 777)
	require.Len(t, found, 2)
	assert.InEpsilon(t, 7500, float64(found[1].Peak), 0.03)
	assert.Contains(t, found[1].Flags, pull.FlagStanding)
}
