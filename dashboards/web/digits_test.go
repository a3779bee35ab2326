package web

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"tautlog/analysis/trace"
	"tautlog/calc/unit"
	"tautlog/ingest/store"
)

func shownDigits(capacity, force float64, u string) string {
	return digits(unit.Force(force), unit.ForceUnit(u), lastDigit(store.Cell{Capacity: unit.Force(capacity)}))
}

// TestFolder pushes any readings in any batches through a folder: the columns
// hold every reading once, in order, and their extremes are the readings'.
func TestFolder(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		f := newFolder(20e6)
		var out columns
		low, high, pushed := math.Inf(1), math.Inf(-1), 0
		at := int64(1.7e18)
		for range rapid.IntRange(1, 30).Draw(t, "batches") {
			var b trace.Batch
			for range rapid.IntRange(0, 60).Draw(t, "readings") {
				at += rapid.Int64Range(1000, 30e6).Draw(t, "step") // ns; times go out as milliseconds in a float64, good to a quarter of a µs
				force := float64(rapid.IntRange(-1000, 100_000).Draw(t, "force"))
				b.T, b.F = append(b.T, at), append(b.F, force)
				low, high, pushed = min(low, force), max(high, force), pushed+1
			}
			f.push(b)
			got := f.take()
			for i := range got.T {
				out.T, out.Low, out.High, out.N = append(out.T, got.T[i]), append(out.Low, got.Low[i]), append(out.High, got.High[i]), append(out.N, got.N[i])
			}
		}
		if f.n > 0 { // still open
			f.close()
			last := f.take()
			out.T, out.Low, out.High, out.N = append(out.T, last.T...), append(out.Low, last.Low...), append(out.High, last.High...), append(out.N, last.N...)
		}
		n := 0
		for i := range out.T {
			n += out.N[i]
			assert.LessOrEqual(t, out.Low[i], out.High[i])
			if i > 0 {
				assert.Greater(t, out.T[i], out.T[i-1])
			}
		}
		assert.Equal(t, pushed, n)
		if pushed > 0 {
			assert.Equal(t, low, minOf(out.Low))
			assert.Equal(t, high, maxOf(out.High))
		}
	})
}

func minOf(vs []float64) float64 {
	m := math.Inf(1)
	for _, v := range vs {
		m = min(m, v)
	}
	return m
}

func maxOf(vs []float64) float64 {
	m := math.Inf(-1)
	for _, v := range vs {
		m = max(m, v)
	}
	return m
}
