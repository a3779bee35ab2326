package kinetic_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tautlog/calc/kinetic"
)

func benchmarked() kinetic.Pull {
	return kinetic.Pull{
		Puller: 2800, Stuck: 3200, Speed: 8 / 3.6, Drive: 5e3, Resistance: 12e3,
		Line: kinetic.Line{Curve: kinetic.Linear(60e3)},
	}
}

func BenchmarkClosed(b *testing.B) {
	p := benchmarked()
	for b.Loop() {
		_, err := kinetic.Closed(p)
		require.NoError(b, err)
	}
}

// BenchmarkSolve measures the way to the first peak, at two tolerances.
func BenchmarkSolve(b *testing.B) {
	p := benchmarked()
	p.Line.Loss = 0.2
	for name, tolerance := range map[string]float64{"1e-10": 1e-10, "1e-6": 1e-6} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				_, err := kinetic.Solve(p, kinetic.Options{Tolerance: tolerance})
				require.NoError(b, err)
			}
		})
	}
}
