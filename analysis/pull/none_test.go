package pull_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"tautlog/analysis/pull"
	"tautlog/analysis/trace"
	"tautlog/calc/unit"
)

const capacity = 50e3

// quiet makes seconds of a line at rest whose reading is v at time s.
func quiet(r *rand.Rand, rate, seconds, noise float64, v func(s float64) float64) trace.Batch {
	n := int(seconds * rate)
	b := trace.Batch{T: make([]int64, n), F: make([]float64, n)}
	for i := range n {
		s := float64(i) / rate
		b.T[i] = int64(math.Round(s * 1e9))
		b.F[i] = v(s) + noise*r.NormFloat64()
	}
	return b
}

// TestNothingInvented looks for pulls where there are none.
func TestNothingInvented(t *testing.T) {
	t.Parallel()
	shapes := map[string]func(s float64) float64{
		"rest":     func(float64) float64 { return 0 },
		"offset":   func(float64) float64 { return 0.015 * capacity },
		"negative": func(float64) float64 { return -0.018 * capacity },
		"drift":    func(s float64) float64 { return 0.018 * capacity * s / 120 },
		"warming":  func(s float64) float64 { return 0.01 * capacity * (1 - math.Exp(-s/40)) },
		"sun":      func(s float64) float64 { return 0.007 * capacity * math.Sin(2*math.Pi*s/60) },
		"bumps": func(s float64) float64 { // handling: below half a percent of capacity
			if w := math.Mod(s, 7); w < 0.4 {
				return 0.004 * capacity * math.Sin(math.Pi*w/0.4)
			}
			return 0
		},
		"standing": func(float64) float64 { return 0.06 * capacity },
	}
	for name, shape := range shapes {
		for _, rate := range []float64{10, 80, 1000} {
			for _, share := range []float64{0, 0.0002, 0.002, 0.01} {
				for _, known := range []bool{true, false} {
					if !known && share < 0.001 && (name == "warming" || name == "drift") {
						continue // with no capacity to compare it with, a drift of 1000 N is a pull
					}
					t.Run(fmt.Sprintf("%s/%g Hz/noise %g/capacity known %v", name, rate, share, known), func(t *testing.T) {
						t.Parallel()
						r := rand.New(rand.NewPCG(uint64(rate), uint64(share*1e6)))
						b := quiet(r, rate, 120, share*capacity, shape)
						cfg := pull.Config{Capacity: capacity}
						if !known {
							cfg = pull.Config{FullScale: unit.Force(largest(b))}
						}
						found := find(cfg, b, 1000)
						for _, p := range found {
							t.Logf("%s %.2f-%.2f peak %.1f %v", p.Kind, float64(p.Start)/1e9, float64(p.End)/1e9, float64(p.Peak), p.Flags)
						}
						assert.Empty(t, found)
					})
				}
			}
		}
	}
}

// TestAnyInput pushes whatever may come.
func TestAnyInput(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		cfg := pull.Config{
			Capacity:    unit.Force(rapid.SampledFrom([]float64{0, 1, 50e3}).Draw(t, "capacity")),
			FullScale:   unit.Force(rapid.SampledFrom([]float64{0, 20e3}).Draw(t, "full scale")),
			NominalRate: rapid.SampledFrom([]float64{0, 10, 1000}).Draw(t, "rate"),
			LagSeconds:  rapid.SampledFrom([]float64{0, 0.01}).Draw(t, "lag"),
		}
		f := pull.NewFinder(cfg)
		at := rapid.Int64Range(-1e18, 1e18).Draw(t, "origin")
		for range rapid.IntRange(0, 20).Draw(t, "pushes") {
			var b trace.Batch
			step := rapid.SampledFrom([]int64{1, 1e3, 1e6, 1e8, 1e9, 1e11}).Draw(t, "step")
			level := rapid.SampledFrom([]float64{0, 100, 1e3, -1e3, 2e4, 1e9, 1e300, math.NaN(), math.Inf(1)}).Draw(t, "level")
			spread := rapid.SampledFrom([]float64{0, 1, 1e3, 1e4}).Draw(t, "spread")
			marked := rapid.Bool().Draw(t, "marked")
			for range rapid.SampledFrom([]int{0, 1, 2, 5, 40, 200}).Draw(t, "samples") {
				at += step
				b.T = append(b.T, at)
				b.F = append(b.F, level+spread*rapid.Float64Range(-1, 1).Draw(t, "f"))
				if marked {
					b.Marks = append(b.Marks, trace.Mark(rapid.Uint8().Draw(t, "mark")))
				}
			}
			checkSane(t, f.Push(b))
			if p, ok := f.Current(); ok {
				checkSane(t, []pull.Pull{p})
			}
			f.State()
		}
		checkSane(t, f.Close())
	})
}

// checkSane asks of every pull what must hold whatever was read.
func checkSane(t assert.TestingT, found []pull.Pull) {
	for _, p := range found {
		assert.LessOrEqual(t, p.Start, p.PeakAt)
		assert.LessOrEqual(t, p.PeakAt, p.End)
		assert.LessOrEqual(t, p.PeakLow, p.Peak)
		assert.LessOrEqual(t, p.Peak, p.PeakHigh)
		assert.LessOrEqual(t, p.Peak, p.PeakReading)
		assert.NotNil(t, p.Flags)
		assert.Contains(t, []pull.Kind{pull.Kinetic, pull.Steady, pull.Proof}, p.Kind)
		for _, v := range []float64{float64(p.Peak), float64(p.PeakLow), float64(p.PeakHigh), float64(p.PeakFiltered),
			p.RiseTime, p.RiseRate, p.MaxRise, p.ToPeak, p.Impulse, p.AboveHalf, p.Rate} {
			assert.False(t, math.IsNaN(v) || math.IsInf(v, 0), "%+v", p)
		}
	}
}
