package tracefile_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/ingest/tracefile"
)

func gridsOf(times []int64) (grids []tracefile.Grid) {
	var g tracefile.Gridder
	for _, t := range times {
		if done, ok := g.Add(t); ok {
			grids = append(grids, done)
		}
	}
	if done, ok := g.Close(); ok {
		grids = append(grids, done)
	}
	return grids
}

func TestGridsGiveEveryTimeBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		at := rapid.Int64Range(-1e18, 1e18).Draw(t, "start")
		step := rapid.Float64Range(1, 1e9).Draw(t, "step")
		jitter := rapid.SampledFrom([]int64{0, 0, 1, 1000}).Draw(t, "jitter")
		n := rapid.IntRange(1, 300).Draw(t, "n")
		var times []int64
		for i := range n {
			next := at + int64(math.Round(step*float64(i)))
			if jitter > 0 {
				next += rapid.Int64Range(0, jitter).Draw(t, "late")
			}
			if i > 0 {
				next = max(next, times[i-1]+1)
			}
			times = append(times, next)
		}
		var back []int64
		for _, g := range gridsOf(times) {
			require.GreaterOrEqual(t, g.Step, 1.0)
			for i := range g.N {
				back = append(back, g.At(i))
			}
		}
		require.Equal(t, times, back)
	})
}

// A step of whole nanoseconds goes on for ever. One that is not must begin
// anew where rounding puts the start of a grid too far off its line.
func TestEvenTimesAreFewGrids(t *testing.T) {
	t.Parallel()
	for hertz, most := range map[float64]int{10: 1, 80: 1, 320: 1, 1000: 1, 6400: 1, 999.7: 5000, 4800: 5000} {
		times := make([]int64, 200_000)
		for i := range times {
			times[i] = 1_764_054_841_000_000_000 + int64(math.Round(float64(i)*1e9/hertz))
		}
		assert.LessOrEqual(t, len(gridsOf(times)), most, "%g readings a second", hertz)
	}
	assert.Equal(t, []tracefile.Grid{{Start: 5, Step: 1e6, N: 3}, {Start: 9e6, Step: 1e6, N: 2}},
		gridsOf([]int64{5, 1e6 + 5, 2e6 + 5, 9e6, 10e6}), "a gap begins another")
}
