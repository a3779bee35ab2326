package trace_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/analysis/trace"
	"tautlog/ingest/needs"
)

// table adds up cycles of equal range and mean, smallest first.
func table(all []trace.Cycle) [][3]float64 {
	sums := map[[2]float64]float64{}
	for _, c := range all {
		sums[[2]float64{c.Range, c.Mean}] += c.Count
	}
	out := [][3]float64{}
	for k, n := range sums {
		out = append(out, [3]float64{k[0], k[1], n})
	}
	slices.SortFunc(out, func(a, b [3]float64) int { return slices.Compare(a[:], b[:]) })
	return out
}

// drained gives the cycles that a Reservoir has of a history.
func drained(gate float64, f []float64, chunk int) []trace.Cycle {
	var got []trace.Cycle
	take := func(c trace.Cycle) { got = append(got, c) }
	r := trace.NewReservoir(gate, take)
	for part := range slices.Chunk(f, chunk) {
		r.Push(part)
	}
	r.Open(take)
	return got
}

// histories are random: coarse ones in which values often repeat, fine ones,
// walks, and decaying and growing swings.
func histories(r *rand.Rand) [][]float64 {
	var all [][]float64
	for n := range 400 {
		f := make([]float64, 1+r.IntN(120))
		walk := 0.0
		for i := range f {
			walk += float64(r.IntN(9) - 4)
			switch n % 5 {
			case 0:
				f[i] = float64(r.IntN(5))
			case 1:
				f[i] = math.Round(1e6*r.NormFloat64()) / 64 // sums and halves are exact
			case 2:
				f[i] = walk
			case 3:
				f[i] = float64(len(f)-i) * float64(1-2*(i%2))
			case 4:
				f[i] = float64(i) * float64(1-2*(i%2))
			}
		}
		all = append(all, f)
	}
	return all
}

// TestCyclesOfRandomHistories: the tables of cycles are those of a reference
// that counts by another method, testdata/rainflow/flows.py.
func TestCyclesOfRandomHistories(t *testing.T) {
	t.Parallel()
	all := histories(rand.New(rand.NewPCG(49, 85)))
	var want []struct{ Rain, Reservoir [][3]float64 }
	needs.Scipy(t, "testdata/rainflow/flows.py", all, &want)
	require.Len(t, want, len(all))
	for i, f := range all {
		require.Equal(t, want[i].Rain, table(cycles(0, f, 7)), "rainflow of %v", f)
		require.Equal(t, want[i].Reservoir, table(drained(0, f, 7)), "reservoir of %v", f)
	}
}

// TestReservoirIsWhole: the reservoir holds whole cycles only, the largest is
// the span, it may be asked at any time, and each reversal belongs to one cycle.
func TestReservoirIsWhole(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.SliceOfN(rapid.Float64Range(-1e5, 1e5), 2, 200).Draw(t, "f")
		gate := rapid.SampledFrom([]float64{0, 1e3, 4e4}).Draw(t, "gate")
		var closed int
		r := trace.NewReservoir(gate, func(trace.Cycle) { closed++ })
		for i := range f {
			r.Push(f[i : i+1])
			got := drained(gate, f[:i+1], 3)
			open := closed
			r.Open(func(trace.Cycle) { open++ })
			require.Len(t, got, open)
			largest := 0.0
			for _, c := range got {
				require.Equal(t, 1.0, c.Count)
				largest = max(largest, c.Range)
			}
			if span := slices.Max(f[:i+1]) - slices.Min(f[:i+1]); gate == 0 {
				require.Equal(t, span, largest)
			} else {
				require.InDelta(t, span, largest, gate, "what lies within the gate of an end may not have turned yet")
			}
		}
	})
}

// TestReservoirIsBounded: swings that die away for ever, the worst there is,
// are held no further than the gate.
func TestReservoirIsBounded(t *testing.T) {
	t.Parallel()
	r := trace.NewReservoir(100, func(trace.Cycle) {})
	for i := range 1_000_000 {
		r.Push([]float64{1e5 / (1 + float64(i)/100) * float64(1-2*(i%2))})
	}
	assert.Less(t, r.Held(), int(2*2e5/100))
	assert.Panics(t, func() { trace.NewReservoir(0, nil) })
}

func loadTime(width float64, b trace.Batch, chunk int) ([]trace.LoadClass, float64) {
	h := trace.NewLoadTime(width, 0)
	for i := 0; i < b.Len(); i += chunk {
		j := min(i+chunk, b.Len())
		h.Push(trace.Batch{T: b.T[i:j], F: b.F[i:j]})
	}
	return h.Classes()
}

// TestLoadTime: a sine is at or below a level v of its amplitude a for
// 1/2 + asin(v/a)/π of the time (the arcsine distribution).
func TestLoadTime(t *testing.T) {
	t.Parallel()
	const rate, seconds, hz = 200, 100, 0.5
	var b trace.Batch
	for i := range rate*seconds + 1 {
		s := float64(i) / rate
		b.T = append(b.T, int64(s*1e9))
		b.F = append(b.F, 20e3*math.Sin(2*math.Pi*hz*s))
	}
	classes, gaps := loadTime(5e3, b, 999)
	require.Len(t, classes, 9, "the top itself is a class of its own")
	assert.Zero(t, gaps)
	for _, c := range classes[:8] {
		want := seconds * (math.Asin(c.To/20e3) - math.Asin(c.From/20e3)) / math.Pi
		assert.InDelta(t, want, c.Seconds, 0.002*seconds, "from %g", c.From)
	}
}

// TestLoadTimeAddsUp: the classes and the gaps are the length of the trace,
// and the split changes nothing.
func TestLoadTimeAddsUp(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		var b trace.Batch
		at := int64(0)
		for range rapid.IntRange(2, 300).Draw(t, "n") {
			at += rapid.SampledFrom([]int64{1e7, 1e7, 1e7, 1e7, 9e6, 4e9}).Draw(t, "step")
			b.T, b.F = append(b.T, at), append(b.F, rapid.Float64Range(-2e4, 6e4).Draw(t, "f"))
		}
		width := rapid.SampledFrom([]float64{0.1, 500, 7e3, 1e6}).Draw(t, "width")
		classes, gaps := loadTime(width, b, b.Len())
		sum := gaps
		for _, c := range classes {
			sum += c.Seconds
		}
		if len(classes) < 10_000 {
			require.InDelta(t, float64(b.T[b.Len()-1]-b.T[0])/1e9, sum, 1e-6)
		}
		again, _ := loadTime(width, b, rapid.IntRange(1, 50).Draw(t, "chunk"))
		require.Equal(t, classes, again)
	})
}

func BenchmarkReservoir(b *testing.B) {
	benchCycles(b, trace.NewReservoir(200, func(trace.Cycle) {}).Push)
}

// benchCycles pushes a line that is loaded and unloaded again and again, with
// noise.
func benchCycles(b *testing.B, push func([]float64)) {
	b.Helper()
	r := rand.New(rand.NewPCG(1, 2))
	f := make([]float64, 100_000)
	for i := range f {
		f[i] = 100*r.NormFloat64() + 20e3*math.Sin(float64(i)/3000)
	}
	b.ReportAllocs()
	for b.Loop() {
		push(f)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(f)), "ns/sample")
}

func BenchmarkLoadTime(b *testing.B) {
	batch := trace.Batch{T: make([]int64, 10_000), F: make([]float64, 10_000)}
	h, at := trace.NewLoadTime(1e3, 0), int64(0)
	for i := range batch.F {
		batch.F[i] = 20e3 * math.Sin(float64(i)/3000)
	}
	b.ReportAllocs()
	for b.Loop() {
		for i := range batch.T {
			at += 1e6
			batch.T[i] = at
		}
		h.Push(batch)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(batch.Len()), "ns/sample")
}
