package trace_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"sort"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/analysis/trace"
)

func cycles(gate float64, f []float64, chunk int) []trace.Cycle {
	var got []trace.Cycle
	r := trace.NewRainflow(gate, func(c trace.Cycle) { got = append(got, c) })
	for len(f) > 0 {
		n := min(chunk, len(f))
		r.Push(f[:n])
		f = f[n:]
	}
	r.Close()
	return got
}

func byRange(all []trace.Cycle) [][2]float64 {
	sums := map[float64]float64{}
	for _, c := range all {
		sums[c.Range] += c.Count
	}
	var out [][2]float64
	for r, n := range sums {
		out = append(out, [2]float64{r, n})
	}
	sort.Slice(out, func(i, j int) bool { return out[i][0] < out[j][0] })
	return out
}

// TestRainflow counts the worked example of ASTM E1049-85 and others; the
// sources stand in testdata/rainflow.json.
func TestRainflow(t *testing.T) {
	t.Parallel()
	var ref struct {
		Cases []struct {
			Name    string
			History []float64
			Counts  [][2]float64
		}
		Events struct {
			History []float64 `json:"padded_history"`
			Range   []float64
			Mean    []float64
			Count   []float64
		}
	}
	readJSON(t, "testdata/rainflow.json", &ref)
	require.NotEmpty(t, ref.Cases)
	for _, c := range ref.Cases {
		assert.Equal(t, c.Counts, byRange(cycles(0, c.History, 3)), c.Name)
		var twice []float64
		for _, v := range c.History {
			twice = append(twice, v, v)
		}
		assert.Equal(t, c.Counts, byRange(cycles(0, twice, 1)), "%s: repeated samples change nothing", c.Name)
	}
	var want []trace.Cycle
	for i := range ref.Events.Range {
		want = append(want, trace.Cycle{Range: ref.Events.Range[i], Mean: ref.Events.Mean[i], Count: ref.Events.Count[i]})
	}
	assert.Equal(t, want, cycles(0, ref.Events.History, 100), "events in the order of the standard")
}

// TestRainflowKeepsTheSpan: the largest range is the span of the trace, the
// gate leaves out what is smaller and nothing else, and the split into pushes
// changes nothing.
func TestRainflowKeepsTheSpan(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.SliceOfN(rapid.Float64Range(-1e5, 1e5), 2, 300).Draw(t, "f")
		all := cycles(0, f, len(f))
		require.Equal(t, all, cycles(0, f, rapid.IntRange(1, 10).Draw(t, "chunk")))
		lo, hi, largest := f[0], f[0], 0.0
		for _, v := range f {
			lo, hi = min(lo, v), max(hi, v)
		}
		gate := rapid.Float64Range(0, 1e5).Draw(t, "gate")
		var above []trace.Cycle
		for _, c := range all {
			largest = max(largest, c.Range)
			if c.Range >= gate {
				above = append(above, c)
			}
		}
		require.Equal(t, hi-lo, largest)
		require.Equal(t, above, cycles(gate, f, len(f)))
	})
}

func TestRainflowMemory(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(1, 1))
	c := trace.NewRainflow(0, func(trace.Cycle) {})
	f := make([]float64, 1000)
	for range 1000 {
		for i := range f {
			f[i] = 100 * r.NormFloat64()
		}
		c.Push(f)
		require.Less(t, c.Open(), 200)
	}
}

func TestRainflowOfLittle(t *testing.T) {
	t.Parallel()
	assert.Empty(t, cycles(0, nil, 1))
	assert.Empty(t, cycles(0, []float64{5}, 1))
	assert.Empty(t, cycles(0, []float64{5, 5, 5}, 1))
	assert.Equal(t, []trace.Cycle{{Range: 5, Mean: 2.5, Count: 0.5}}, cycles(0, []float64{0, 5}, 1))
}

func summary(t []int64, marks []trace.Mark, chunk int) trace.Summary {
	m := trace.NewMeter(0)
	for i := 0; i < len(t); i += chunk {
		j := min(i+chunk, len(t))
		b := trace.Batch{T: t[i:j], F: make([]float64, j-i)}
		if marks != nil {
			b.Marks = marks[i:j]
		}
		m.Push(b)
	}
	return m.Summary()
}

func TestSummary(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(5, 6))
	make1 := func(n int, next func(i int) int64) []int64 {
		out := make([]int64, n)
		for i := 1; i < n; i++ {
			out[i] = out[i-1] + next(i)
		}
		return out
	}
	even := func(int) int64 { return 1e6 }
	for name, c := range map[string]struct {
		t    []int64
		gaps int
		rate float64
	}{
		"even":          {make1(5000, even), 0, 1000},
		"one reading":   {make1(1, even), 0, 0},
		"none":          {nil, 0, 0},
		"two gaps":      {make1(5000, func(i int) int64 { return pick(i == 1200 || i == 3000, 5e8, 1e6) }), 2, 1000},
		"one missing":   {make1(5000, func(i int) int64 { return pick(i == 2500, 2e6, 1e6) }), 1, 1000},
		"early gap":     {make1(60, func(i int) int64 { return pick(i == 5, 3e9, 1e8) }), 1, 10},
		"jitter":        {make1(5000, func(int) int64 { return 1e6 + int64(2e5*(2*r.Float64()-1)) }), 0, 1000},
		"bursts":        {make1(8000, func(i int) int64 { return pick(i%16 == 0, 151e5, 6e4) }), 0, 1000},
		"bursts, a gap": {make1(8000, func(i int) int64 { return pick(i == 4000, 2e9, pick(i%16 == 0, 151e5, 6e4)) }), 1, 1000},
	} {
		for _, chunk := range []int{1, 700, 10000} {
			s := summary(c.t, nil, chunk)
			assert.Equal(t, len(c.t), s.Samples, name)
			assert.Equal(t, c.gaps, s.Gaps, name)
			assert.InDelta(t, c.rate, s.Rate, 0.004*c.rate, name)
		}
	}
}

func pick(b bool, yes, no int64) int64 {
	if b {
		return yes
	}
	return no
}

func TestLostReadingsAreGaps(t *testing.T) {
	t.Parallel()
	times, marks := make([]int64, 1000), make([]trace.Mark, 1000)
	for i := range times {
		times[i] = int64(i) * 1e6
	}
	marks[100], marks[800] = trace.Lost, trace.Lost|trace.Overload
	assert.Equal(t, 2, summary(times, marks, 50).Gaps)
}

func TestSelectAndMedian(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.SliceOfN(rapid.Float64Range(-100, 100), 1, 200).Draw(t, "x")
		if rapid.Bool().Draw(t, "many") { // in order, equal, rounded, or as noise is
			r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 5))
			slope, round := rapid.SampledFrom([]float64{0, 0, 1, -1}).Draw(t, "slope"), rapid.SampledFrom([]float64{1, 1e3, 1e6}).Draw(t, "round")
			for i := range rapid.IntRange(1, 5000).Draw(t, "n") {
				x = append(x, slope*float64(i)+math.Round(r.NormFloat64()*round)/1e4)
			}
		}
		sorted := append([]float64(nil), x...)
		sort.Float64s(sorted)
		k := rapid.IntRange(0, len(x)-1).Draw(t, "k")
		selected := append([]float64(nil), x...)
		require.Equal(t, sorted[k], trace.Select(selected, k))
		if k > 0 {
			require.LessOrEqual(t, slices.Max(selected[:k]), sorted[k])
		}
		require.GreaterOrEqual(t, slices.Min(selected[k:]), sorted[k])
		n := len(x)
		require.InDelta(t, (sorted[(n-1)/2]+sorted[n/2])/2, trace.Median(x), 1e-12*100)
	})
}

// TestLevel: the mean and the noise of a quiet line, with rounding coarser
// than the noise and with wild readings in it.
func TestLevel(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(9, 9))
	var level trace.Leveller
	for _, step := range []float64{0, 1, 10, 25} {
		x := make([]float64, 4000)
		for i := range x {
			x[i] = 123.4 + 10*r.NormFloat64()
			if step > 0 {
				x[i] = math.Round(x[i]/step) * step
			}
			if i%100 == 0 {
				x[i] += 5000
			}
		}
		before := slices.Clone(x)
		l := level.Measure(x)
		assert.Equal(t, before, x, "it leaves them as they are")
		assert.InDelta(t, 123.4, l.Mean, 1.5, "step %g", step)
		assert.InDelta(t, math.Sqrt(100+step*step/12), l.Sigma, 1.5, "step %g", step)
	}
	flat := level.Measure([]float64{7, 7, 7, 7})
	assert.Equal(t, trace.Level{Median: 7, Mean: 7, N: 4}, flat)
	assert.Equal(t, trace.Level{}, level.Measure(nil))
}

func BenchmarkRainflow(b *testing.B) {
	benchCycles(b, trace.NewRainflow(200, func(trace.Cycle) {}).Push)
}

func BenchmarkFilter(b *testing.B) {
	f := make([]float64, 100_000)
	for i := range f {
		f[i] = math.Sin(float64(i) / 300)
	}
	c, _ := trace.NewCFC(60, 1000)
	b.ReportAllocs()
	for b.Loop() {
		c.Apply(1000, f)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(f)), "ns/sample")
}

// BenchmarkLevel measures the level and noise of six quiet seconds at 1 kHz,
// never the same ones twice in a row: a processor learns what it has seen.
func BenchmarkLevel(b *testing.B) {
	r := rand.New(rand.NewPCG(1, 2))
	const n = 6000
	noise, level := make([]float64, 1<<20), trace.Leveller{}
	for i := range noise {
		noise[i] = 20 * r.NormFloat64()
	}
	at := 0
	b.ReportAllocs()
	for b.Loop() {
		level.Measure(noise[at : at+n])
		at = (at + 7919) % (len(noise) - n)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/n, "ns/sample")
}

func BenchmarkMeter(b *testing.B) {
	batch := trace.Batch{T: make([]int64, 10_000), F: make([]float64, 10_000)}
	m, at := trace.NewMeter(0), int64(0)
	b.ReportAllocs()
	for b.Loop() {
		for i := range batch.T {
			at += 1e6
			batch.T[i] = at
		}
		m.Push(batch)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(batch.Len()), "ns/sample")
}
