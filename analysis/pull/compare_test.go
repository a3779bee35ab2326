package pull_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
)

// rise is the true time from 10 to 90 % of the way to the top.
func (tr truth) rise() float64 {
	top := 0
	for i, v := range tr.f {
		if v > tr.f[top] {
			top = i
		}
	}
	low := top
	for low > 0 && tr.f[low] > 0.1*tr.peak {
		low--
	}
	high := low + 1
	for tr.f[high] < 0.9*tr.peak {
		high++
	}
	past := func(i int, level float64) float64 { return (level - tr.f[i]) / (tr.f[i+1] - tr.f[i]) }
	return (float64(high-1-low) + past(high-1, 0.9*tr.peak) - max(0, past(low, 0.1*tr.peak))) * tr.dt
}

func (tr truth) impulse() float64 {
	var sum float64
	for _, v := range tr.f {
		sum += v * tr.dt
	}
	return sum
}

// TestComparisonHolds: what one simulated pull has more than another is within
// the intervals of the comparison, for two pulls that one cell read.
func TestComparisonHolds(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(3, 14))
	var pulls []truth
	for n := range 320 {
		pulls = append(pulls, []func(*rand.Rand) truth{kinetic, kinetic, kinetic, steady}[n%4](r))
	}
	for _, rate := range []float64{10, 80, 320, 1000} {
		var made, peak, rise, rises, rate95, impulse int
		var before *pull.Pull
		var last truth
		gain := 0.0
		for n, p := range pulls {
			if n%2 == 0 {
				gain = 1 + 0.0025*r.NormFloat64()
			}
			l := line{rate: rate, noise: trustCapacity * math.Pow(10, uniform(r, -4.3, -3)), zero: 100, step: 1}
			found := find(pull.Config{Capacity: trustCapacity, Relative95: 0.005, Resolution: 1},
				l.read(r, []placed{{truth: p, start: 3 + r.Float64(), gain: gain}}, p.seconds()+8), 4096)
			require.Len(t, found, 1)
			if n%2 == 0 {
				before, last = &found[0], p
				continue
			}
			made++
			c := pull.Compare(*before, found[0], true)
			peak += holds(c.Peak, p.peak-last.peak)
			impulse += holds(c.Impulse, p.impulse()-last.impulse())
			if before.Kind == pull.Kinetic && found[0].Kind == pull.Kinetic && c.RiseTime != nil {
				rises++
				rise += holds(*c.RiseTime, p.rise()-last.rise())
				rate95 += holds(*c.RiseRate, 0.8*(p.peak/p.rise()-last.peak/last.rise()))
			}
			back := pull.Compare(found[0], *before, true)
			require.InDelta(t, c.Peak.Low, -back.Peak.High, 1e-6*math.Abs(c.Peak.Low)+1e-6)
		}
		t.Logf("%g/s: peak %d, impulse %d of %d, rise %d, its rate %d of %d", rate, peak, impulse, made, rise, rate95, rises)
		for _, c := range [][2]int{{peak, made}, {impulse, made}, {rise, rises}, {rate95, rises}} {
			n := float64(c[1])
			assert.GreaterOrEqual(t, float64(c[0])/n, 0.93-2*math.Sqrt(0.93*0.07/n), "two standard errors, at %g a second", rate)
		}
	}
}

func holds(d pull.Difference, v float64) int {
	if d.Low <= v && v <= d.High {
		return 1
	}
	return 0
}

// TestCompare: the same pull twice differs by nothing, and a cell that is
// shared makes the difference sharper but not the pulls.
func TestCompare(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(2, 7))
	read := func(top float64) pull.Pull {
		b := quiet(r, 1000, 12, 5, func(s float64) float64 { return pulse(s, 5, 0.6, top) })
		found := find(pull.Config{Capacity: capacity, Relative95: 0.01}, b, 512)
		require.Len(t, found, 1)
		return found[0]
	}
	a, b := read(30e3), read(30.4e3)
	c, apart := pull.Compare(a, b, true), pull.Compare(a, b, false)
	assert.InDelta(t, 400, c.Peak.Value, 20)
	assert.True(t, c.Peak.Told(), "%+v", c.Peak)
	assert.False(t, apart.Peak.Told(), "1 %% of 30 kN for each: %+v", apart.Peak)
	assert.InDelta(t, 300*math.Sqrt2, apart.Peak.Value-apart.Peak.Low, 40)
	require.NotNil(t, c.RiseTime)
	assert.InDelta(t, 400*0.6*2/math.Pi, c.Impulse.Value, 15)
	told := 0
	for range 20 {
		if pull.Compare(read(30e3), read(30.4e3), true).RiseTime.Told() {
			told++ // one in twenty is what 95 % mean
		}
	}
	assert.LessOrEqual(t, told, 3, "the rise times are alike")
	same := pull.Compare(a, a, true)
	assert.False(t, same.RiseTime.Told())
	assert.Zero(t, same.Peak.Value)
	assert.False(t, same.Peak.Told())
	assert.Equal(t, a.Start, a.Origin(pull.AtOnset))
	assert.Equal(t, a.PeakAt, a.Origin(pull.AtPeak))
}
