package pull_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/analysis/trace"
)

// A trace that begins inside a pull has no quiet line to learn the noise
// from. Its noise must not be taken for spikes all the same.
func TestNoiseOfAPullUnderWayIsNoSpike(t *testing.T) {
	t.Parallel()
	random := rand.New(rand.NewPCG(3, 3))
	var b trace.Batch
	for i := range 20_000 {
		f := 20e3 + 50*random.NormFloat64()
		if i > 12_000 {
			f = 50 * random.NormFloat64()
		}
		b.T, b.F = append(b.T, int64(i)*1e6), append(b.F, f)
	}
	finder := pull.NewFinder(pull.Config{FullScale: 20e3})
	found := append(finder.Push(b), finder.Close()...)
	require.Len(t, found, 1)
	assert.Contains(t, found[0].Flags, pull.FlagUnderWay)
	assert.Zero(t, found[0].Spikes)
	assert.InEpsilon(t, 20e3, float64(found[0].Peak), 0.01)
}
