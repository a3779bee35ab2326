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

// BenchmarkSolveMeasured measures the way to the first peak, and ten seconds
// of rebounds, on a measured curve with loss.
func BenchmarkSolveMeasured(b *testing.B) {
	p := benchmarked()
	line, err := kinetic.Strap{Points: benchmarkedPoints(), Loss: 0.3}.Line()
	require.NoError(b, err)
	p.Line = line
	for name, o := range map[string]kinetic.Options{"peak": {}, "10s": {Until: 10, Tolerance: 1e-8}} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				_, err := kinetic.Solve(p, o)
				require.NoError(b, err)
			}
		})
	}
}

func benchmarkedPoints() []kinetic.Point {
	return []kinetic.Point{{Stretch: 0.45, Force: 5e3}, {Stretch: 0.9, Force: 14e3}, {Stretch: 1.4, Force: 30e3}, {Stretch: 2, Force: 62e3}, {Stretch: 2.6, Force: 110e3}}
}

// BenchmarkPlan measures what a page waits for: a plan by formula, and one
// with a measured curve, loss and three attempts.
func BenchmarkPlan(b *testing.B) {
	formula := kinetic.Plan{Puller: 2800, Stuck: 3200, Speed: 8 / 3.6, Resistance: 12e3, Strap: kinetic.Strap{Stiffness: 60e3}}
	measured := formula
	measured.Strap = kinetic.Strap{Length: 9, Points: benchmarkedPoints(), Loss: 0.3}
	measured.Attempts, measured.Stiffening = 3, 0.05
	for name, p := range map[string]kinetic.Plan{"formula": formula, "measured": measured} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				_, err := p.Calculate()
				require.NoError(b, err)
			}
		})
	}
}
