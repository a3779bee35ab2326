package trace_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/trace"
)

// jerk is a quiet line with noise, and one half-sine of 30 kN and 0.6 s on it.
func jerk(r *rand.Rand, rate float64) trace.Batch {
	var b trace.Batch
	for i := range int(4 * rate) {
		s := float64(i) / rate
		f := 40 * r.NormFloat64()
		if s > 2 && s < 2.6 {
			f += 30e3 * math.Sin(math.Pi*(s-2)/0.6)
		}
		b.T, b.F = append(b.T, int64(s*1e9)), append(b.F, f)
	}
	return b
}

// calmed pushes b in parts of n readings.
func calmed(b trace.Batch, n int) (out trace.Batch) {
	c := trace.NewCalmer(func(b trace.Batch) {
		out.T, out.F, out.Marks = append(out.T, b.T...), append(out.F, b.F...), append(out.Marks, b.Marks...)
	})
	for from := 0; from < b.Len(); from += n {
		c.Push(b.Slice(from, min(b.Len(), from+n)))
	}
	c.Close()
	return out
}

// TestLoneSpikesDoNotCount: up and down, on the quiet line, on the rise, at the
// top and on the fall, they are gone and nothing else is, for any split.
func TestLoneSpikesDoNotCount(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(5, 9))
	for _, rate := range []float64{100, 320, 1000, 4800} {
		clean := jerk(r, rate)
		spiked := trace.Batch{T: clean.T, F: append([]float64(nil), clean.F...)}
		at := map[int]bool{}
		for k, s := range []float64{0.5, 1.2, 2.1, 2.3, 2.45, 3.1} {
			i := int(s * rate)
			at[i] = true
			spiked.F[i] += 25e3 * float64(1-2*(k%2))
		}
		got := calmed(spiked, 7)
		require.Equal(t, clean.T, got.T)
		gaps := trace.Batch{T: slices.Delete(slices.Clone(spiked.T), int(1.3*rate), int(1.9*rate)), F: slices.Delete(slices.Clone(spiked.F), int(1.3*rate), int(1.9*rate))}
		for n := range 40 {
			require.Equal(t, calmed(gaps, gaps.Len()), calmed(gaps, n+1), "with a gap, in parts of %d", n+1)
		}
		for i, f := range got.F {
			if at[i] {
				assert.InDelta(t, (clean.F[i-1]+clean.F[i+1])/2, f, 1e-9, "%g/s at %d", rate, i)
			} else if f != clean.F[i] {
				assert.InDelta(t, clean.F[i], f, 400, "%g/s at %d: no more than noise", rate, i)
			}
		}
		for _, n := range []int{1, 16, 33, 5000, got.Len()} {
			require.Equal(t, got, calmed(spiked, n), "in parts of %d", n)
		}
	}
}

// TestCalmerLeavesRoughLines: what a slow instrument reads once, a line that
// jumps from reading to reading, and what was beyond the range, all count.
func TestCalmerLeavesRoughLines(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(6, 9))
	same := func(b trace.Batch, what string) {
		require.Equal(t, b.F, calmed(b, 100).F, what)
	}
	slow := jerk(r, 20)
	slow.F[10] = 20e3
	same(slow, "20 readings a second: a short pull may be one reading")
	var rough, padded trace.Batch
	for i := range 20_000 {
		rough.T, rough.F = append(rough.T, int64(i)*1e6), append(rough.F, 50e3*r.Float64())
	}
	padded = trace.Batch{T: rough.T[:1200], F: append([]float64(nil), rough.F[:1200]...)}
	clear(padded.F[:500])
	clear(padded.F[700:])
	same(rough, "each reading is somewhere else")
	same(padded, "the same between quiet lines")
	walk := trace.Batch{T: rough.T, F: make([]float64, rough.Len())}
	for i := 1; i < walk.Len(); i++ {
		walk.F[i] = walk.F[i-1] + 500*r.NormFloat64()
	}
	same(walk, "a random walk")
	end := jerk(r, 1000)
	end.Marks = make([]trace.Mark, end.Len())
	end.F[700], end.Marks[700] = 90e3, trace.Overload
	assert.Equal(t, 90e3, calmed(end, 64).F[700])
	end.Marks[700] = trace.Invalid
	assert.Equal(t, end.Len()-1, calmed(end, 64).Len(), "void")
}
