package pull_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/analysis/trace"
)

// TestOverlay: two pulls of one shape lie on each other, whichever way they
// are aligned, also with readings missing in the quiet line before one.
func TestOverlay(t *testing.T) {
	t.Parallel()
	b := made(60, func(s float64) float64 { return 200 + pulse(s, 10, 0.8, 30e3) + pulse(s, 40, 0.8, 30e3) })
	b = cut(b, 39.3, 39.5)
	found := find(pull.Config{Capacity: capacity}, b, 512)
	require.Len(t, found, 2)
	for _, align := range []pull.Align{pull.AtOnset, pull.AtPeak} {
		for _, points := range []int{100, 5000} {
			o := pull.NewOverlay(found, align, points)
			for i := 0; i < b.Len(); i += 700 {
				j := min(i+700, b.Len())
				o.Push(trace.Batch{T: b.T[i:j], F: b.F[i:j]})
			}
			curves := o.Curves()
			require.Len(t, curves, 2)
			assert.LessOrEqual(t, len(curves[0].Force), points)
			for k, c := range curves {
				top := 0
				for i, v := range c.Force {
					if v > c.Force[top] {
						top = i
					}
				}
				at := c.From + float64(top)*c.Step
				want := float64(found[k].PeakAt-found[k].Origin(align)) / 1e9
				assert.InDelta(t, want, at, 2*c.Step+0.02, "%s, pull %d", align, k)
				assert.InDelta(t, 30e3, float64(c.Force[top]), 600)
				assert.InDelta(t, 0, float64(c.Force[0]), 50, "the zero is taken off")
			}
		}
	}
	empty := pull.NewOverlay(found[:1], pull.AtPeak, 10).Curves()
	assert.Empty(t, empty[0].Force)
	assert.NotNil(t, empty[0].Force)
}
