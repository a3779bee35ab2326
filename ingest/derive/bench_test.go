package derive_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tautlog/analysis/trace"
	"tautlog/calc/calibrate"
	"tautlog/ingest/derive"
	"tautlog/ingest/store"
)

// BenchmarkBatch derives the times and forces of a block of readings, by a line
// and by a curve of degree 3.
func BenchmarkBatch(b *testing.B) {
	run := store.Run{Start: start.UnixNano(), Step: 1e6, Raw: make([]int64, 1<<15)}
	for i := range run.Raw {
		run.Raw[i] = int64(i * 37 % 20_000)
	}
	for name, coefficients := range map[string][]float64{"line": {3, 4}, "cubic": {3, 4, 1e-6, 1e-12}} {
		b.Run(name, func(b *testing.B) {
			h, err := calibrate.NewHistory(calibrate.Curve{Coefficients: coefficients}, nil, nil)
			require.NoError(b, err)
			c := derive.Cell{History: h}
			var room trace.Batch
			b.ReportAllocs()
			for b.Loop() {
				room = c.Batch(room, run)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(run.Raw)), "ns/reading")
		})
	}
}
