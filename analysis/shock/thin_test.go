package shock

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestThin leaves as many points as told, in their order, those furthest out
// among them, and the others from everywhere.
func TestThin(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(1, 1))
	self := func(x float64) float64 { return x }
	for range 50 {
		all := make([]float64, 1+r.IntN(3000))
		for i := range all {
			all[i] = r.NormFloat64()
		}
		most := 1 + r.IntN(400)
		few := Thin(all, most, self)
		assert.Len(t, few, min(most, len(all)))
		next := 0
		for _, x := range few {
			at := slices.Index(all[next:], x)
			if !assert.GreaterOrEqual(t, at, 0, "out of order") {
				return
			}
			next += at + 1
		}
		if most >= 4 {
			assert.Contains(t, few, slices.Max(all))
			assert.Contains(t, few, slices.Min(all))
		}
		if most >= 100 && len(all) > 1000 {
			third := len(all) / 3
			for part := range 3 {
				assert.True(t, slices.ContainsFunc(few, func(x float64) bool { return slices.Contains(all[part*third:(part+1)*third], x) }))
			}
		}
	}
}
