package pull_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/analysis/trace"
	"tautlog/ingest/needs"
)

// TestAgainstScipy: on the same samples the largest readings, the peaks of
// the filtered trace and its largest rises are those of scipy, to 1e-6.
func TestAgainstScipy(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(21, 22))
	var pulls []placed
	at := 5.0
	for range 12 {
		p := kinetic(r)
		pulls = append(pulls, placed{truth: p, start: at})
		at += p.seconds() + 6
	}
	b := line{rate: 1000, zero: 130}.read(r, pulls, at)
	found := find(pull.Config{Capacity: 100e3}, b, 777)
	require.Len(t, found, len(pulls))

	c, ok := trace.NewCFC(trace.DefaultClass, 1000)
	require.True(t, ok)
	co := c.Coefficients()
	var want struct {
		At                    []int
		Peak, Filtered, Slope []float64
	}
	needs.Scipy(t, "testdata/scipy/peaks.py", map[string]any{
		"b": co[:3], "a": []float64{1, -co[3], -co[4]}, "x": b.F, "pad": trace.Pad(1000, b.Len()), "zero": 130, "height": 2000,
	}, &want)
	require.Len(t, want.At, len(found))
	for i, p := range found {
		require.Equal(t, b.T[want.At[i]], p.PeakAt)
		require.InEpsilon(t, want.Peak[i], float64(p.PeakReading), 1e-6)
		require.InEpsilon(t, want.Peak[i], float64(p.Peak), 1e-6)
		require.InEpsilon(t, want.Filtered[i], float64(p.PeakFiltered), 1e-6)
		require.InEpsilon(t, want.Slope[i], p.MaxRise, 1e-6)
	}
}
