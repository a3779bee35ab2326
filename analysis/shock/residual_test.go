package shock_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/shock"
	"tautlog/calc/unit"
)

// TestResiduals: a residual is the logarithm of the peak over what is expected
// of the pull, and an interval keeps its width.
func TestResiduals(t *testing.T) {
	t.Parallel()
	pulls := withSpeed(t, rand.New(rand.NewPCG(24, 1)), 40, 8, 0.05, 0.1)
	pulls[3].Low, pulls[3].High = pulls[3].Peak, pulls[3].Peak*1.2
	f, _ := shock.FitSpeed(pulls)
	require.NotNil(t, f)
	all := f.Residuals()
	require.Len(t, all, 40)
	sum := 0.0
	for i, r := range all {
		assert.Equal(t, pulls[i], r.Pull)
		expected, _, err := f.Peak(r.Pull)
		require.NoError(t, err)
		assert.Equal(t, expected, r.Expected)
		low, high := r.Pull.Peak, max(r.Pull.Peak, r.Pull.High)
		assert.InDelta(t, math.Log(float64(low/expected)), r.Low, 1e-12)
		assert.InDelta(t, math.Log(float64(high/expected)), r.High, 1e-12)
		assert.InDelta(t, (r.Low+r.High)/2, r.Log, 1e-12)
		sum += r.Log
	}
	assert.InDelta(t, 0, sum/40, 0.05)
}

// TestRanges: the ranges count every pull once, under its own strap and
// ground, and hold its speed.
func TestRanges(t *testing.T) {
	t.Parallel()
	pulls := withSpeed(t, rand.New(rand.NewPCG(24, 2)), 40, 8, 0.05, 0.1)
	f, _ := shock.FitSpeed(pulls)
	require.NotNil(t, f)
	count := 0
	for _, r := range f.Ranges() {
		count += r.Pulls
		slowest, fastest := unit.Speed(math.Inf(1)), unit.Speed(0)
		for _, p := range pulls {
			if p.Class.Strap == r.Strap && p.Class.Ground == r.Ground {
				slowest, fastest = min(slowest, p.Speed), max(fastest, p.Speed)
			}
		}
		assert.Equal(t, [2]unit.Speed{slowest, fastest}, [2]unit.Speed{r.Slowest, r.Fastest})
		same, ok := f.Range(r.Strap, r.Ground)
		assert.True(t, ok)
		assert.Equal(t, r, same)
	}
	assert.Equal(t, 40, count)
	_, ok := f.Range("rope", "clay")
	assert.False(t, ok)
}
