package pull_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/analysis/pull"
	"tautlog/analysis/trace"
	"tautlog/calc/unit"
)

// busy is a trace with everything in it: pulls, gaps, jitter, marks, spikes, a
// zero that drifts, a standing tension for a while, an instrument at the end of
// its range, midnight.
func busy(seed uint64, rate float64) trace.Batch {
	r := rand.New(rand.NewPCG(seed, 7))
	var pulls []placed
	at := uniform(r, 0, 4)
	for range 2 {
		p := []func(*rand.Rand) truth{kinetic, steady, proof}[r.IntN(3)](r)
		pulls = append(pulls, placed{truth: p, start: at})
		at += p.seconds() + uniform(r, 3, 9)
	}
	l := line{rate: rate, noise: 150 * r.Float64(), zero: 300, drift: uniform(r, -5, 5), step: 5}
	whole := l.read(r, pulls, at)
	stands, standing := uniform(r, 0, at), uniform(r, 0, 12e3)*float64(r.IntN(2))
	most := uniform(r, 15e3, 80e3)
	origin := time.Date(2026, 5, 17, 23, 59, 55, r.IntN(1e9), time.UTC).UnixNano()
	var b trace.Batch
	skip := 0
	for i := range whole.T {
		if skip > 0 {
			skip--
			continue
		}
		if r.Float64() < 3/float64(whole.Len()) {
			skip = r.IntN(whole.Len() / 20)
		}
		m := trace.Mark(0)
		switch x := r.Float64(); {
		case x < 0.0005:
			m = trace.Overload
		case x < 0.001:
			m = trace.Invalid
		case x < 0.0015:
			m = trace.Lost
		}
		f := whole.F[i]
		if s := float64(whole.T[i])/1e9 - stands; s > 0 && s < 30 {
			f += standing * min(1, s/2, (30-s)/2)
		}
		f = min(f, most)
		if r.Float64() < 0.0005 {
			f += 30e3 * r.Float64()
		}
		b.T = append(b.T, origin+whole.T[i]+int64(r.IntN(100_000)))
		b.F = append(b.F, f)
		b.Marks = append(b.Marks, m)
	}
	return b
}

// TestAnySplit: however the same samples are cut into pushes, the same pulls
// come out, to the last bit.
func TestAnySplit(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		rate := rapid.SampledFrom([]float64{10, 80, 1000}).Draw(t, "rate")
		b := busy(rapid.Uint64Range(0, 1000).Draw(t, "seed"), rate)
		cfg := rapid.SampledFrom([]pull.Config{{}, {Capacity: 60e3}, {FullScale: 40e3}}).Draw(t, "config")
		want := find(cfg, b, b.Len())
		one := find(cfg, b, 1)
		require.Equal(t, want, one, "a sample at a time")
		sizes := rapid.SliceOfN(rapid.SampledFrom([]int{1, 1, 2, 3, 17, 256, 1000, 5000}), 1, 20).Draw(t, "sizes")
		f := pull.NewFinder(cfg)
		var got []pull.Pull
		for i, k := 0, 0; i < b.Len(); k++ {
			j := min(i+sizes[k%len(sizes)], b.Len())
			got = append(got, f.Push(trace.Batch{T: b.T[i:j], F: b.F[i:j], Marks: b.Marks[i:j]})...)
			if k%997 == 0 {
				f.Current()
			}
			i = j
		}
		got = append(got, f.Close()...)
		require.Equal(t, want, got)
		checkSane(t, got)
	})
}

// TestScaleShiftOffset: a force k times as large has a peak k times as large;
// a later trace has the same pulls later; a zero offset within 2 % of the
// capacity changes nothing.
func TestScaleShiftOffset(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 3))
		p := []func(*rand.Rand) truth{kinetic, steady, proof}[rapid.IntRange(0, 2).Draw(t, "kind")](r)
		l := line{rate: 1000, noise: rapid.SampledFrom([]float64{0, 20, 100}).Draw(t, "noise")}
		b := l.read(r, []placed{{truth: p, start: 2}}, p.seconds()+7)
		const capacity = 100e3
		k := rapid.Float64Range(0.25, 8).Draw(t, "k")
		shift := rapid.Int64Range(-1e18, 1e18).Draw(t, "shift")
		offset := rapid.Float64Range(-0.019, 0.019).Draw(t, "offset") * capacity
		plain := find(pull.Config{Capacity: capacity}, b, 4096)
		require.NotEmpty(t, plain)

		scaled := find(pull.Config{Capacity: unit.Force(k * capacity)}, changed(b, k, 0, 0), 4096)
		require.Len(t, scaled, len(plain))
		shifted := find(pull.Config{Capacity: capacity}, changed(b, 1, shift, 0), 4096)
		require.Len(t, shifted, len(plain))
		moved := find(pull.Config{Capacity: capacity}, changed(b, 1, 0, offset), 4096)
		require.Len(t, moved, len(plain))
		for i, p := range plain {
			assert.InEpsilon(t, k*float64(p.Peak), float64(scaled[i].Peak), 1e-9)
			assert.Equal(t, p.PeakAt, scaled[i].PeakAt)
			assert.Equal(t, p.Kind, scaled[i].Kind)
			back := shifted[i]
			assert.Equal(t, p.Start+shift, back.Start)
			assert.Equal(t, p.End+shift, back.End)
			assert.Equal(t, p.Peak, back.Peak)
			assert.Equal(t, p.Kind, back.Kind)
			assert.InEpsilon(t, float64(p.Peak), float64(moved[i].Peak), 1e-7)
			assert.InDelta(t, float64(p.Zero)+offset, float64(moved[i].Zero), 1e-6*math.Abs(offset)+1e-6)
		}
	})
}

func changed(b trace.Batch, k float64, shift int64, offset float64) trace.Batch {
	c := trace.Batch{T: append([]int64(nil), b.T...), F: append([]float64(nil), b.F...)}
	for i := range c.T {
		c.T[i] += shift
		c.F[i] = k*c.F[i] + offset
	}
	return c
}
