package pull_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
)

// TestHeld: of a proof pull the time that it was held comes back, to a tenth of
// it, at any rate of readings; of another kind there is none.
func TestHeld(t *testing.T) {
	t.Parallel()
	const ramp, fall, dt = 5.0, 1.0, 1.0 / 2000
	for _, rate := range []float64{10, 80, 1000} {
		for _, held := range []float64{6, 20, 60} {
			var f []float64
			for s := 0.0; s < ramp+held+fall; s += dt {
				relaxed := 40e3 * (1 - 0.03*(1-math.Exp(-max(s-ramp, 0)/(held/4))))
				f = append(f, relaxed*min(s/ramp, 1)*min((ramp+held+fall-s)/fall, 1))
			}
			r := rand.New(rand.NewPCG(1, uint64(rate))) //nolint:gosec // a test
			b := line{rate: rate, noise: 20}.read(r, []placed{{truth: newTruth(pull.Proof, dt, f), start: 10}}, held+30)
			found := find(pull.Config{Capacity: 100e3}, b, 5000)
			require.Len(t, found, 1)
			require.Equal(t, pull.Proof, found[0].Kind, "%v s at %v", held, rate)
			require.NotNil(t, found[0].Held)
			assert.InEpsilon(t, held, *found[0].Held, 0.1, "%v s at %v", held, rate)
			assert.Equal(t, found[0].Held, found[0].Record(0).Held)
		}
	}
	r := rand.New(rand.NewPCG(1, 2)) //nolint:gosec // a test
	tr := kinetic(r)
	found := find(pull.Config{Capacity: 100e3}, line{rate: 1000, noise: 20}.read(r, []placed{{truth: tr, start: 10}}, 30+tr.seconds()), 5000)
	require.NotEmpty(t, found)
	assert.Nil(t, found[0].Held)
}
