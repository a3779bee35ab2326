package pull_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/analysis/trace"
	"tautlog/calc/unit"
)

// TestIndependentTraces is the acceptance of finding: on 1 kHz traces from
// the formulas of physics_test.go every pull is found and none invented, the
// peak is within 0.5 % of the true one, and the kind is right in 95 %.
func TestIndependentTraces(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(1, 2))
	const traces = 300
	made, right, within := 0, 0, 0
	wrong := map[string]int{}
	var worst float64
	for n := range traces {
		capacity := 100e3
		l := line{rate: 1000, noise: capacity * math.Pow(10, uniform(r, -4.5, -2.9)), zero: uniform(r, -0.015, 0.015) * capacity, step: uniform(r, 0, 20)}
		if n%5 == 0 {
			l.noise, l.step = 0, 0
		}
		var pulls []placed
		at := uniform(r, 1, 5)
		for range 1 + r.IntN(3) {
			p := []func(*rand.Rand) truth{kinetic, steady, proof}[r.IntN(3)](r)
			pulls = append(pulls, placed{truth: p, start: at})
			at += p.seconds() + uniform(r, 5, 12)
		}
		if n%2 == 0 {
			// Where the capacity is unknown, drift is what lies within 2 % of
			// the largest reading.
			for _, p := range pulls {
				l.zero = math.Copysign(math.Min(math.Abs(l.zero), 0.015*p.peak), l.zero)
			}
		}
		b := l.read(r, pulls, at)
		cfg := pull.Config{Capacity: unit.Force(capacity)}
		if n%2 == 0 {
			cfg = pull.Config{FullScale: unit.Force(largest(b))}
		}
		found := find(cfg, b, 5000)
		if !assert.Len(t, found, len(pulls), "trace %d", n) {
			for _, p := range pulls {
				t.Logf("  made %s at %.2f for %.2f s, peak %.0f, noise %.0f", p.kind, p.start, p.seconds(), p.peak, l.noise)
			}
			for _, p := range found {
				t.Logf("  found %s %.2f-%.2f peak %.0f %v", p.Kind, float64(p.Start)/1e9, float64(p.End)/1e9, p.Peak, p.Flags)
			}
			continue
		}
		for i, p := range found {
			made++
			if p.Kind == pulls[i].kind {
				right++
			} else {
				t.Logf("trace %d: %s %.1f-%.1f taken for %s", n, pulls[i].kind, float64(p.Start)/1e9, float64(p.End)/1e9, p.Kind)
				wrong[string(pulls[i].kind)+" as "+string(p.Kind)]++
			}
			e := float64(p.Peak)/pulls[i].peak - 1
			if math.Abs(e) <= 0.005 {
				within++
			} else {
				t.Logf("trace %d %s peak %.0f found %.0f: %.2f %%, noise %.3f %% of peak half %v zero %.1f made %.1f flags %v start %.2f %.2f peakat %.2f", n, p.Kind, pulls[i].peak, p.Peak, 100*e, 100*l.noise/pulls[i].peak, p.Terms[2].Note, p.Zero, l.zero, p.Flags, float64(p.Start)/1e9, pulls[i].start, float64(p.PeakAt)/1e9)
			}
			worst = math.Max(worst, math.Abs(e))
		}
	}
	t.Logf("%d pulls, %d kinds right, %d peaks within 0.5 %%, worst %.2f %%; %v", made, right, within, 100*worst, wrong)
	assert.GreaterOrEqual(t, float64(right), 0.95*float64(made))
	assert.Equal(t, made, within)
}

func largest(b trace.Batch) float64 {
	m := 0.0
	for _, v := range b.F {
		m = max(m, v)
	}
	return m
}

var _ = require.NoError
