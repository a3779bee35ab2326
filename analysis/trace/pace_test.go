package trace_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/analysis/trace"
)

// A stretch of times teaches what its intervals teach one after the other,
// however it is split.
func TestPaceOfTimesIsThatOfIntervals(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		var at int64
		var times []int64
		var want, got []int
		one, many := trace.NewPace(0), trace.NewPace(0)
		for range rapid.IntRange(1, 6).Draw(t, "parts") {
			d := rapid.SampledFrom([]int64{0, 1, 1e6, 1e6 + 1, 4e6, 1e9}).Draw(t, "interval")
			for range rapid.IntRange(1, 900).Draw(t, "times") {
				at += d
				times = append(times, at)
			}
		}
		prev := int64(0)
		for i, at := range times {
			if at-prev > one.Limit() {
				want = append(want, i)
			}
			one.Add(at - prev)
			prev = at
		}
		prev = 0
		for from := 0; from < len(times); {
			to := min(len(times), from+rapid.IntRange(1, 2000).Draw(t, "split"))
			many.Times(prev, times[from:to], func(i int) { got = append(got, from+i) })
			prev, from = times[to-1], to
		}
		require.Equal(t, want, got)
		require.Equal(t, []any{one.Limit(), one.Step()}, []any{many.Limit(), many.Step()})
	})
}
