package calibrate_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/calc/calibrate"
)

// The curves are straight within a few percent over the range, as those of
// load cells are.
func TestReadingInvertsForce(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		slope := rapid.Float64Range(1e-3, 50).Draw(t, "slope") * float64(rapid.SampledFrom([]int{-1, 1}).Draw(t, "sign"))
		c := calibrate.Curve{Coefficients: []float64{
			rapid.Float64Range(-1e4, 1e4).Draw(t, "b0"), slope,
			rapid.Float64Range(-1, 1).Draw(t, "b2") * slope * 1e-8,
			rapid.Float64Range(-1, 1).Draw(t, "b3") * slope * 1e-14,
		}[:rapid.IntRange(2, 4).Draw(t, "coefficients")]}
		raw := rapid.Int64Range(-1e6, 1e6).Draw(t, "raw")
		got, ok := c.Reading(c.Force(float64(raw)))
		require.True(t, ok)
		require.InDelta(t, float64(raw), got, 1e-3)
	})
}

func TestReadingBeyondTheCurve(t *testing.T) {
	t.Parallel()
	c := calibrate.Curve{Coefficients: []float64{0, 1, -1e-3}} // never above 250
	_, ok := c.Reading(300)
	assert.False(t, ok)
}
