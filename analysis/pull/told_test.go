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

// TestSpikesAreListed: every spike is told of once, with its time and what was
// read, on the slack line and in a pull, and none of it is in the pull.
func TestSpikesAreListed(t *testing.T) {
	t.Parallel()
	b := made(12, single)
	var want []pull.Spike
	for _, i := range []int{1000, 5200, 5301, 8000} {
		b.F[i] += 45e3
		want = append(want, pull.Spike{At: b.T[i], Reading: unit.Force(b.F[i])})
	}
	f := pull.NewFinder(pull.Config{Capacity: capacity})
	var got []pull.Spike
	for i := 0; i < b.Len(); i += 700 {
		j := min(i+700, b.Len())
		f.Push(trace.Batch{T: b.T[i:j], F: b.F[i:j]})
		got = append(got, f.Spikes()...)
	}
	f.Close()
	got = append(got, f.Spikes()...)
	assert.Equal(t, want, got)
	assert.Empty(t, f.Spikes())
	assert.InEpsilon(t, 30e3, float64(f.Largest()), 0.002)
}

// TestSpikeAtTenASecond: read so slowly that a jerk is a few readings, one
// reading alone on a slack line is no pull either, and is listed.
func TestSpikeAtTenASecond(t *testing.T) {
	t.Parallel()
	b := quiet(rand.New(rand.NewPCG(4, 2)), 10, 40, 5, func(float64) float64 { return 200 })
	b.F[150] += 30e3
	f := pull.NewFinder(pull.Config{Capacity: capacity})
	assert.Empty(t, append(f.Push(b), f.Close()...))
	assert.Equal(t, []pull.Spike{{At: b.T[150], Reading: unit.Force(b.F[150])}}, f.Spikes())
	assert.Less(t, float64(f.Largest()), 1e3)
}

// TestSaturation: an instrument at the end of its range shows a flat top that
// no force has, with the noise gone from it or the sides cut off.
func TestSaturation(t *testing.T) {
	t.Parallel()
	clipped := func(noise, step, top float64) trace.Batch {
		b := quiet(rand.New(rand.NewPCG(4, 9)), 1000, 14, noise, single)
		for i, v := range b.F {
			if step > 0 {
				v = math.Round(v/step) * step
			}
			b.F[i] = min(v, top)
		}
		return b
	}
	for _, noise := range []float64{0, 5, 100} {
		for _, step := range []float64{0, 10, 60} {
			p := one(t, clipped(noise, step, 24e3))
			assert.Contains(t, p.Flags, pull.FlagOverload, "noise %g, step %g", noise, step)
			p = one(t, clipped(noise, step, 60e3))
			assert.NotContains(t, p.Flags, pull.FlagOverload, "noise %g, step %g: not cut off", noise, step)
		}
	}
	// A held load of an instrument that repeats each reading ten times.
	b := made(30, func(s float64) float64 { return 20e3 * max(0, min(1, (s-5)/3)) * max(0, min(1, 25-s)) })
	for i := range b.F {
		b.F[i] = b.F[i-i%10]
	}
	assert.NotContains(t, one(t, b).Flags, pull.FlagOverload)
}

// sunny is a zero that rises by 700 N in two hours, as in the sun.
func sunny(s float64) float64 { return 100 + 700*s/7200 }

// TestZeroThroughADay: the zero of an afternoon in the sun is followed, told
// of, and taken off each pull as it then was.
func TestZeroThroughADay(t *testing.T) {
	t.Parallel()
	b := quiet(rand.New(rand.NewPCG(6, 6)), 80, 7200, 20, func(s float64) float64 {
		return sunny(s) + pulse(math.Mod(s, 600), 300, 0.8, 12e3)
	})
	f := pull.NewFinder(pull.Config{Capacity: capacity})
	found := append(f.Push(b), f.Close()...)
	require.Len(t, found, 12)
	for _, p := range found {
		assert.InDelta(t, sunny(float64(p.PeakAt)/1e9), float64(p.Zero), 6)
		// Three standard deviations of a top through 7 and more readings of 20 N.
		assert.InDelta(t, 12e3, float64(p.Peak), 45)
		require.NotNil(t, p.ZeroShift)
		assert.InDelta(t, 0, float64(*p.ZeroShift), 15)
	}
	z := f.Zero()
	assert.True(t, z.Seen)
	assert.InDelta(t, 100, float64(z.First), 12)
	assert.InDelta(t, 800, float64(z.Last), 12)
	assert.LessOrEqual(t, z.Low, z.First)
	assert.GreaterOrEqual(t, z.High, z.Last)
}

// TestIntervalsOnASunnyDay: with such a zero the intervals hold what they say.
// Twelve pulls cannot tell 95 % from 80; these 500 tell it from 92, with two
// standard errors of a share, 1 % each. They are of
// fifty stretches of such an afternoon.
func TestIntervalsOnASunnyDay(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(6, 7))
	var made, peak, rise, impulse float64
	for n := range 50 {
		from, starts := 140*float64(n), make([]float64, 10)
		for i := range starts {
			starts[i] = 15*float64(i) + 6 + r.Float64()
		}
		b := quiet(r, 80, 155, 20, func(s float64) float64 {
			v := sunny(from + s)
			for _, at := range starts {
				v += pulse(s, at, 0.8, 12e3)
			}
			return v
		})
		found := find(pull.Config{Capacity: capacity}, b, 5000)
		require.Len(t, found, len(starts))
		for _, p := range found {
			made++
			peak += share(p.PeakLow <= 12e3 && p.PeakHigh >= 12e3)
			rise += share(math.Abs(p.RiseTime-0.8/math.Pi*(math.Asin(0.9)-math.Asin(0.1))) <= p.RiseTime95)
			impulse += share(math.Abs(p.Impulse-12e3*0.8*2/math.Pi) <= p.Impulse95)
		}
	}
	t.Logf("of %g: peak %g, rise %g, impulse %g", made, peak, rise, impulse)
	for _, held := range []float64{peak, rise, impulse} {
		assert.GreaterOrEqual(t, held/made, 0.93-2*math.Sqrt(0.93*0.07/made))
	}
	assert.LessOrEqual(t, peak/made, 0.98+2*math.Sqrt(0.98*0.02/made))
}

func share(yes bool) float64 {
	if yes {
		return 1
	}
	return 0
}

// TestWeakPulls: a few kilonewtons on a cell of 100 kN.
func TestWeakPulls(t *testing.T) {
	t.Parallel()
	for _, rate := range []float64{10, 80, 1000} {
		for _, top := range []float64{1.5e3, 2.5e3, 4e3} {
			b := quiet(rand.New(rand.NewPCG(uint64(rate), uint64(top))), rate, 30, 30, func(s float64) float64 {
				return 800 + pulse(s, 9.03, 1.1, top)
			})
			found := find(pull.Config{Capacity: 100e3}, b, 100)
			require.Len(t, found, 1, "%g N at %g a second", top, rate)
			assert.LessOrEqual(t, float64(found[0].PeakLow), top)
			assert.GreaterOrEqual(t, float64(found[0].PeakHigh), top)
		}
	}
}

// TestAttempts: tries that follow within minutes are at one bogging; a proof
// pull between them is none.
func TestAttempts(t *testing.T) {
	t.Parallel()
	at := func(kind pull.Kind, start, end float64) pull.Pull {
		return pull.Pull{Kind: kind, Start: int64(start * 1e9), End: int64(end * 1e9)}
	}
	got := pull.Attempts([]pull.Pull{
		at(pull.Kinetic, 10, 12), at(pull.Kinetic, 100, 103), at(pull.Proof, 200, 230), at(pull.Steady, 380, 440),
		at(pull.Kinetic, 1000, 1002), at(pull.Kinetic, 1302, 1304), at(pull.Kinetic, 1605, 1606),
	}, pull.SameBogging)
	assert.Equal(t, []pull.Attempt{
		{1, 1, 3}, {1, 2, 3}, {}, {1, 3, 3}, {2, 1, 2}, {2, 2, 2}, {3, 1, 1},
	}, got)
	assert.Empty(t, pull.Attempts(nil, 300))
}
