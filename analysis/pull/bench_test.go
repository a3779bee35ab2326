package pull_test

import (
	"math/rand/v2"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/analysis/trace"
)

// BenchmarkQuietLine is a line at rest at 1 kHz, as it is most of a day.
func BenchmarkQuietLine(b *testing.B) {
	batch := quiet(rand.New(rand.NewPCG(1, 2)), 1000, 100, 20, func(float64) float64 { return 100 })
	benchmark(b, batch)
}

// BenchmarkTestDay is a pull a minute at 1 kHz.
func BenchmarkTestDay(b *testing.B) {
	r := rand.New(rand.NewPCG(1, 2))
	var pulls []placed
	for at := 5.0; at < 280; at += 60 {
		pulls = append(pulls, placed{truth: kinetic(r), start: at})
	}
	benchmark(b, line{rate: 1000, noise: 20, zero: 100, step: 1}.read(r, pulls, 300))
}

// BenchmarkLongPull is the inside of a steady pull.
func BenchmarkLongPull(b *testing.B) {
	r := rand.New(rand.NewPCG(1, 2))
	batch := quiet(r, 1000, 100, 100, func(float64) float64 { return 30e3 })
	benchmark(b, batch)
}

// BenchmarkMeasure measures a pull of each kind that is about to end.
func BenchmarkMeasure(b *testing.B) {
	for kind, make := range map[pull.Kind]func(*rand.Rand) truth{pull.Kinetic: kinetic, pull.Steady: steady, pull.Proof: proof} {
		b.Run(string(kind), func(b *testing.B) {
			r := rand.New(rand.NewPCG(1, 2))
			p := make(r)
			seconds := p.seconds()
			if kind == pull.Kinetic {
				seconds = 2 // of six, mostly slack
			}
			f := pull.NewFinder(pull.Config{Capacity: 100e3})
			f.Push(line{rate: 1000, noise: 20, zero: 100, step: 1}.read(r, []placed{{truth: p, start: 7}}, 7+seconds))
			_, under := f.Current()
			require.True(b, under)
			b.ReportAllocs()
			for b.Loop() {
				f.Current()
			}
		})
	}
}

func benchmark(b *testing.B, batch trace.Batch) {
	f := pull.NewFinder(pull.Config{Capacity: 100e3})
	const chunk = 1000
	span := batch.T[len(batch.T)-1] + 1e6
	b.ReportAllocs()
	b.SetBytes(chunk)
	times := make([]int64, chunk)
	n := 0
	for round := int64(0); b.Loop(); n++ {
		i := n * chunk % (batch.Len() - chunk + 1)
		if n > 0 && i < chunk {
			round++
		}
		for k := range times {
			times[k] = batch.T[i+k] + round*span
		}
		f.Push(trace.Batch{T: times, F: batch.F[i : i+chunk]})
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(n*chunk), "ns/sample")
}

// TestLongPullIsBounded: an hour of pulling at 1 kHz takes no more memory
// than a minute, and is measured all the same.
func TestLongPullIsBounded(t *testing.T) {
	f := pull.NewFinder(pull.Config{Capacity: 100e3})
	r := rand.New(rand.NewPCG(8, 8))
	const chunk = 10_000
	b := trace.Batch{T: make([]int64, chunk), F: make([]float64, chunk)}
	at, heap := int64(0), [2]uint64{}
	var found []pull.Pull
	for n := range 360 {
		for i := range b.T {
			b.T[i] = at
			at += 1e6
			s := float64(at) / 1e9
			b.F[i] = 20 * r.NormFloat64()
			if s > 10 && s < 3590 {
				b.F[i] += min(1, (s-10)/4) * 25e3 * (1 + 0.1*triangle(s/9))
			}
		}
		found = append(found, f.Push(b)...)
		for k, when := range []int{70, 350} {
			if n == when {
				runtime.GC()
				var m runtime.MemStats
				runtime.ReadMemStats(&m)
				heap[k] = m.HeapAlloc
			}
		}
	}
	found = append(found, f.Close()...)
	require.Len(t, found, 1)
	p := found[0]
	assert.Less(t, float64(heap[1]), float64(heap[0])+2e6)
	assert.Equal(t, pull.Steady, p.Kind)
	assert.InDelta(t, 10, float64(p.Start)/1e9, 0.05)
	assert.InDelta(t, 3590, float64(p.End)/1e9, 0.05)
	assert.InEpsilon(t, 27.5e3, float64(p.Peak), 0.005)
	assert.InDelta(t, 3.2, p.RiseTime, 0.35, "4 s of ramp, within the course's resolution")
	assert.InEpsilon(t, 25e3*3578, p.Impulse, 0.002)
}

// triangle is a triangular wave of period and amplitude 1.
func triangle(x float64) float64 {
	x -= float64(int(x))
	return 1 - 4*max(x-0.5, 0.5-x)
}
