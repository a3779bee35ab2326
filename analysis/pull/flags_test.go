package pull_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/analysis/trace"
)

// pulse is a half-sine of height newtons and length seconds that begins at
// time at.
func pulse(s, at, length, height float64) float64 {
	if s < at || s > at+length {
		return 0
	}
	return height * math.Sin(math.Pi*(s-at)/length)
}

// made is a trace at 1 kHz with little noise, of a force as a function of
// time.
func made(seconds float64, v func(s float64) float64) trace.Batch {
	return quiet(rand.New(rand.NewPCG(4, 2)), 1000, seconds, 5, v)
}

func one(t *testing.T, b trace.Batch) pull.Pull {
	t.Helper()
	found := find(pull.Config{Capacity: capacity}, b, 512)
	for _, p := range found {
		t.Logf("%s %.3f-%.3f peak %v %v", p.Kind, float64(p.Start)/1e9, float64(p.End)/1e9, p.Peak, p.Flags)
	}
	require.Len(t, found, 1)
	checkSane(t, found)
	return found[0]
}

func single(s float64) float64 { return pulse(s, 5, 0.6, 30e3) }

func cut(b trace.Batch, from, to float64) trace.Batch {
	var c trace.Batch
	for i, at := range b.T {
		if s := float64(at) / 1e9; s >= from && s < to {
			continue
		}
		c.T = append(c.T, at)
		c.F = append(c.F, b.F[i])
	}
	return c
}

func TestCleanPullHasNoFlags(t *testing.T) {
	t.Parallel()
	p := one(t, made(12, single))
	assert.NotNil(t, p.Flags)
	assert.Empty(t, p.Flags)
	assert.Empty(t, p.Remarks)
	assert.Equal(t, pull.Kinetic, p.Kind)
	assert.InDelta(t, 5, float64(p.Start)/1e9, 0.003)
	assert.InDelta(t, 5.6, float64(p.End)/1e9, 0.003)
	// A half-sine passes 10 % and 90 % of its top at asin(0.1) and asin(0.9).
	rise := 0.6 / math.Pi * (math.Asin(0.9) - math.Asin(0.1))
	assert.InEpsilon(t, rise, p.RiseTime, 0.005)
	assert.InEpsilon(t, 0.8*30e3/rise, p.RiseRate, 0.005)
	assert.InEpsilon(t, math.Pi*30e3/0.6, p.MaxRise, 0.03)
	assert.InEpsilon(t, 2/math.Pi*0.6*30e3, p.Impulse, 0.001)
	assert.InEpsilon(t, 1/math.Pi*0.6*30e3, p.ToPeak, 0.02)
	assert.InEpsilon(t, 0.6*2/3, p.AboveHalf, 0.005)
	assert.Nil(t, p.Rebound)
	assert.Nil(t, p.Damping)
	assert.Nil(t, p.Steady)
}

func TestPullAtTheEdges(t *testing.T) {
	t.Parallel()
	hold := func(s float64) float64 { return 20e3 * (1 + 0.05*math.Sin(2*s)) }
	p := one(t, made(20, func(s float64) float64 {
		if s < 10 {
			return hold(s)
		}
		return 0
	}))
	assert.Contains(t, p.Flags, pull.FlagUnderWay)
	assert.Contains(t, p.Flags, pull.FlagZeroUnknown)
	assert.NotContains(t, p.Flags, pull.FlagNotEnded)
	assert.NotContains(t, p.Flags, pull.FlagSpikes)
	assert.Zero(t, p.Start)
	assert.InDelta(t, 10, float64(p.End)/1e9, 0.01)

	p = one(t, made(20, func(s float64) float64 {
		if s > 10 {
			return hold(s) * min(1, (s-10)/2)
		}
		return 0
	}))
	assert.Contains(t, p.Flags, pull.FlagNotEnded)
	assert.NotContains(t, p.Flags, pull.FlagUnderWay)

	p = one(t, made(20, hold))
	assert.Contains(t, p.Flags, pull.FlagNotEnded)
	assert.Contains(t, p.Flags, pull.FlagUnderWay)
}

func TestGaps(t *testing.T) {
	t.Parallel()
	b := made(14, func(s float64) float64 { return pulse(s, 4, 6, 30e3) })
	p := one(t, cut(b, 4.3, 4.4))
	assert.Contains(t, p.Flags, pull.FlagGap)
	assert.NotContains(t, p.Flags, pull.FlagGapAtPeak)
	p = one(t, cut(b, 6.9, 7.3))
	assert.Contains(t, p.Flags, pull.FlagGap)
	assert.Contains(t, p.Flags, pull.FlagGapAtPeak)
	p = one(t, cut(made(12, single), 1, 2))
	assert.NotContains(t, p.Flags, pull.FlagGap, "a gap in the quiet line is not in the pull")

	// Readings that the instrument itself knows to be lost.
	b = made(12, single)
	b.Marks = make([]trace.Mark, b.Len())
	b.Marks[5100] = trace.Lost
	assert.Contains(t, one(t, b).Flags, pull.FlagGap)
	// The whole fall of the force is missing.
	p = one(t, cut(made(12, single), 5.25, 6))
	assert.Contains(t, p.Flags, pull.FlagGap)
	assert.Contains(t, p.Flags, pull.FlagGapAtPeak)
	assert.NotContains(t, strings.Join(p.Remarks, " "), "times a second", "it is the gap that hides the peak, not the rate")
	// And the whole rise.
	p = one(t, cut(made(12, single), 4, 5.35))
	assert.Contains(t, p.Flags, pull.FlagGap)
	assert.Contains(t, p.Flags, pull.FlagGapAtPeak)
}

func TestMarks(t *testing.T) {
	t.Parallel()
	b := made(12, single)
	b.Marks = make([]trace.Mark, b.Len())
	for i := 5280; i < 5320; i++ {
		b.Marks[i] = trace.Overload
	}
	p := one(t, b)
	assert.Contains(t, p.Flags, pull.FlagOverload)

	b = made(12, single)
	b.Marks = make([]trace.Mark, b.Len())
	b.Marks[5200], b.F[5200] = trace.Invalid, 9e9
	b.F[5210] = math.NaN()
	p = one(t, b)
	assert.Contains(t, p.Flags, pull.FlagInvalid)
	assert.NotContains(t, p.Flags, pull.FlagGap)
	assert.InEpsilon(t, 30e3, float64(p.Peak), 0.002)

	p = one(t, made(12, func(s float64) float64 { return 2 * single(s) }))
	assert.Contains(t, p.Flags, pull.FlagOverCapacity)
}

func TestSpikes(t *testing.T) {
	t.Parallel()
	b := made(12, single)
	for _, i := range []int{1000, 2500, 8000, 11990, 0} {
		b.F[i] += 20e3
	}
	p := one(t, b)
	assert.Zero(t, p.Spikes)
	b.F[5200] += 20e3
	b.F[5301] += 3e3
	b.F[5400] -= 10e3
	p = one(t, b)
	assert.Equal(t, 3, p.Spikes)
	assert.Contains(t, p.Flags, pull.FlagSpikes)
	assert.InEpsilon(t, 30e3, float64(p.Peak), 0.002)
	assert.InEpsilon(t, 30e3, float64(p.PeakReading), 0.002)
}

func TestStandingTension(t *testing.T) {
	t.Parallel()
	const standing = 0.08 * capacity
	p := one(t, made(14, func(s float64) float64 { return standing + single(s) }))
	assert.Contains(t, p.Flags, pull.FlagStanding)
	assert.InEpsilon(t, 30e3+standing, float64(p.Peak), 0.002, "a standing tension is not taken off")
	assert.InEpsilon(t, standing, float64(p.Standing), 0.01)
	assert.InDelta(t, 5, float64(p.Start)/1e9, 0.01)
	assert.InDelta(t, 5.6, float64(p.End)/1e9, 0.01)
	assert.Zero(t, p.Zero)

	// A load that stands from the first reading on and is then let go.
	p = one(t, made(20, func(s float64) float64 {
		if s < 10 {
			return 0.2 * capacity
		}
		return 0
	}))
	assert.Contains(t, p.Flags, pull.FlagUnderWay)
	assert.InEpsilon(t, 0.2*capacity, float64(p.Peak), 0.002)
	assert.InDelta(t, 10, float64(p.End)/1e9, 0.01)
}

func TestZeroMoves(t *testing.T) {
	t.Parallel()
	p := one(t, made(14, func(s float64) float64 {
		if s > 5.3 {
			return single(s) + 0.008*capacity
		}
		return single(s)
	}))
	assert.Contains(t, p.Flags, pull.FlagZeroMoved)
	p = one(t, made(14, func(s float64) float64 { return single(s) - 0.05*capacity }))
	assert.Contains(t, p.Flags, pull.FlagZeroFarOff)
	assert.InEpsilon(t, 30e3, float64(p.Peak), 0.002)
}

func TestSlowReading(t *testing.T) {
	t.Parallel()
	b := quiet(rand.New(rand.NewPCG(1, 2)), 10, 20, 5, single)
	found := find(pull.Config{Capacity: capacity}, b, 1)
	require.Len(t, found, 1)
	p := found[0]
	assert.Contains(t, p.Flags, pull.FlagSampling)
	assert.Contains(t, p.Flags, pull.FlagFewReadings)
	assert.Contains(t, p.Remarks[len(p.Remarks)-1], "Read 10 times a second: the true peak may be up to ")
	assert.Equal(t, "none", p.Filter)
	assert.GreaterOrEqual(t, float64(p.PeakHigh), 30e3)
}

// TestRebounds: taut moments that decay, with slack between, are one pull; a
// new attempt is another.
func TestRebounds(t *testing.T) {
	t.Parallel()
	const hz, zeta = 0.9, 0.08
	// A damped oscillation of which a line shows the pulling half only.
	decay := 2 * math.Pi * hz / math.Sqrt(1-zeta*zeta) * zeta
	p := one(t, made(20, func(s float64) float64 {
		if s < 5 {
			return 0
		}
		return max(0, 40e3*math.Exp(-decay*(s-5))*math.Sin(2*math.Pi*hz*(s-5)))
	}))
	assert.Equal(t, pull.Kinetic, p.Kind)
	require.NotNil(t, p.Rebound)
	require.NotNil(t, p.Damping)
	assert.InEpsilon(t, hz, *p.Rebound, 0.01)
	assert.InEpsilon(t, zeta, *p.Damping, 0.05)
	assert.GreaterOrEqual(t, p.Rebounds, 3)

	p = one(t, made(20, func(s float64) float64 {
		return single(s) + pulse(s, 7.4, 0.5, 12e3) + pulse(s, 9.6, 0.4, 5e3)
	}))
	assert.Equal(t, 2, p.Rebounds)

	found := find(pull.Config{Capacity: capacity}, made(30, func(s float64) float64 {
		return single(s) + pulse(s, 7, 0.5, 9e3) + pulse(s, 10, 0.6, 25e3) + pulse(s, 12, 0.5, 6e3) + pulse(s, 15, 0.6, 33e3)
	}), 999)
	require.Len(t, found, 3, "attempts five seconds apart, each with a rebound")
	for i, want := range []float64{30e3, 25e3, 33e3} {
		assert.InEpsilon(t, want, float64(found[i].Peak), 0.002)
	}
}

// TestNoNoiseIsExact: without noise the peak is the largest reading.
func TestNoNoiseIsExact(t *testing.T) {
	t.Parallel()
	b := quiet(rand.New(rand.NewPCG(1, 2)), 1000, 12, 0, func(s float64) float64 { return 250 + single(s) })
	p := one(t, b)
	assert.Equal(t, largest(b)-250, float64(p.Peak))
	assert.Equal(t, 250.0, float64(p.Zero))
}

// TestProvisional: a result is there within a second of the line going slack.
func TestProvisional(t *testing.T) {
	t.Parallel()
	b := made(12, single)
	f := pull.NewFinder(pull.Config{Capacity: capacity})
	n := 6000
	require.Empty(t, f.Push(trace.Batch{T: b.T[:n], F: b.F[:n]}))
	p, ok := f.Current()
	require.True(t, ok)
	assert.False(t, f.State().Taut)
	assert.InEpsilon(t, 30e3, float64(p.Peak), 0.002)
	assert.InDelta(t, 5.6, float64(p.End)/1e9, 0.003)
	assert.NotContains(t, p.Flags, pull.FlagNotEnded)
	final := f.Push(trace.Batch{T: b.T[n:], F: b.F[n:]})
	require.Len(t, final, 1)
	assert.Equal(t, p.Peak, final[0].Peak)
	assert.InEpsilon(t, p.Impulse, final[0].Impulse, 1e-4, "the zero after the pull is known only now")
	_, ok = f.Current()
	assert.False(t, ok)
}

// TestRecord: what leaves the program counts its times from the origin and
// never has null where a list belongs.
func TestRecord(t *testing.T) {
	t.Parallel()
	p := one(t, made(12, single))
	r := p.Record(2e9)
	assert.InDelta(t, float64(p.Start)/1e9-2, r.Start, 1e-9)
	assert.InDelta(t, float64(p.PeakAt)/1e9-2, r.PeakAt, 1e-9)
	assert.Equal(t, float64(p.Peak), r.Peak)
	assert.NotNil(t, r.Flags)
	assert.NotNil(t, r.Remarks)
	assert.Len(t, r.Terms, 7)
	assert.Equal(t, "CFC 60", r.Filter)
	assert.NotNil(t, pull.Pull{}.Record(0).Flags)
}
