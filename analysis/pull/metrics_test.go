package pull_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/calc/unit"
)

// TestStickSlip: of a load that works, the level is its median and the
// amplitude half of peak to peak; of one that only stands there is next to none.
func TestStickSlip(t *testing.T) {
	t.Parallel()
	const level, swing, period = 20e3, 2e3, 1.273
	for name, wave := range map[string]func(x float64) float64{
		"saw":    func(x float64) float64 { return 2*x - 1 },
		"sine":   func(x float64) float64 { return math.Sin(2 * math.Pi * x) },
		"stands": func(float64) float64 { return 0 },
	} {
		for _, rate := range []float64{10, 80, 1000} {
			b := quiet(rand.New(rand.NewPCG(3, 1)), rate, 60, 10, func(s float64) float64 {
				f := level * max(0, min(1, (s-8)/2, (50-s)/1))
				if s > 11 && s < 48 {
					f += swing * wave(math.Mod(s/period, 1))
				}
				return f
			})
			p := one(t, b)
			require.Equal(t, pull.Steady, p.Kind, name)
			require.NotNil(t, p.Steady)
			require.NotNil(t, p.StickSlip)
			assert.InDelta(t, level, float64(*p.Steady), 0.06*swing, "%s at %g a second", name, rate)
			want := swing
			if name == "stands" {
				want = 0
			}
			assert.InDelta(t, want, float64(*p.StickSlip), 0.07*swing, "%s at %g a second", name, rate)
			assert.Nil(t, p.HoldDecay)
		}
	}
}

// TestHoldDecay: the part of its load that a proof pull loses while held, and
// the level that it held.
func TestHoldDecay(t *testing.T) {
	t.Parallel()
	for _, lost := range []float64{0.01, 0.04, 0.1} {
		for _, rate := range []float64{10, 80, 1000} {
			b := quiet(rand.New(rand.NewPCG(3, 2)), rate, 70, 10, func(s float64) float64 {
				return 40e3 * max(0, min(1, (s-8)/6)) * (1 - lost*max(0, min(1, (s-14)/40))) * max(0, min(1, 54.5-s))
			})
			p := one(t, b)
			require.Equal(t, pull.Proof, p.Kind, "%g lost at %g a second", lost, rate)
			require.NotNil(t, p.HoldDecay)
			assert.InDelta(t, lost, *p.HoldDecay, 0.1*lost+0.0005, "at %g a second", rate)
			assert.InDelta(t, 100**p.HoldDecay, *p.Record(0).HoldDecay, 1e-9)
			assert.InEpsilon(t, 40e3*(1-lost/2), float64(*p.Steady), 0.004)
			assert.Nil(t, p.StickSlip)
		}
	}
}

// TestBudget works out the terms of a pull by hand: 1 % of the certificate, a
// step of 100 N, an amplifier of 10 ms, no noise, read so densely that nothing
// is hidden.
func TestBudget(t *testing.T) {
	t.Parallel()
	b := quiet(rand.New(rand.NewPCG(1, 2)), 2000, 12, 0, single)
	found := find(pull.Config{Capacity: capacity, Relative95: 0.01, Resolution: 100, LagSeconds: 0.01}, b, 512)
	require.Len(t, found, 1)
	p := found[0]
	terms := map[string]pull.Term{}
	for _, term := range p.Terms {
		terms[term.Name] = term
	}
	// A half-sine of 0.6 s; a first-order lag of τ has a gain of 1/√(1+(ωτ)²).
	lag := 30e3 * (math.Sqrt(1+math.Pow(math.Pi*0.01/0.6, 2)) - 1)
	step := 1.96 * 100 / math.Sqrt(12)
	assert.InEpsilon(t, 300, float64(terms["calibration"].High), 1e-3)
	assert.InEpsilon(t, 300, float64(terms["calibration"].Low), 1e-3)
	assert.InEpsilon(t, step, float64(terms["resolution"].High), 1e-9)
	assert.InEpsilon(t, lag, float64(terms["lag"].Shift), 0.02)
	assert.Zero(t, terms["noise"].High)
	assert.InDelta(t, 0, float64(terms["zero"].High), 1e-9)
	assert.Less(t, float64(terms["sampling"].High), 0.1)
	assert.InEpsilon(t, lag+math.Sqrt(300*300+step*step+lag*lag), float64(p.PeakHigh-p.Peak), 0.002)
	assert.InEpsilon(t, math.Sqrt(300*300+step*step+lag*lag)-lag, float64(p.Peak-p.PeakLow), 0.002)
	assert.Empty(t, p.Unknown())

	plain := find(pull.Config{Capacity: capacity}, b, 512)[0]
	assert.ElementsMatch(t, []string{"calibration", "resolution", "lag"}, plain.Unknown(), "what nobody said is left out, and named")

	// No line at rest was seen before: the zero may be anywhere in its band.
	held := one(t, made(20, func(s float64) float64 { return 20e3 * (1 + 0.05*math.Sin(2*s)) * max(0, min(1, 12-s)) }))
	for _, term := range held.Terms {
		if term.Name == "zero" {
			assert.InEpsilon(t, 0.95*0.02*capacity, float64(term.High), 1e-9)
		}
	}
}

// TestSentence: what sampling may hide is said in a sentence, with the bound of
// the half-sine, 1 - cos(π·dt/(2T)) for a length T that is 1.5 times what is
// seen above half of the peak. Three readings are, of this pulse.
func TestSentence(t *testing.T) {
	t.Parallel()
	b := quiet(rand.New(rand.NewPCG(1, 2)), 10, 20, 0, func(s float64) float64 { return pulse(s, 9.75, 0.5, 30e3) })
	found := find(pull.Config{Capacity: capacity}, b, 1)
	require.Len(t, found, 1)
	hidden := 1 - math.Cos(math.Pi*0.1/(2*1.5*0.2))
	assert.InDelta(t, 0.134, hidden, 0.0005)
	assert.Contains(t, found[0].Remarks, "Read 10 times a second: the true peak may be up to 13 % higher.")
	assert.Contains(t, found[0].Flags, pull.FlagSampling)
}

// TestLeastPullOfAnUnknownCell: where nobody said what the cell can carry,
// nothing under 400 N is a pull.
func TestLeastPullOfAnUnknownCell(t *testing.T) {
	t.Parallel()
	for top, want := range map[float64]int{380: 0, 430: 1} {
		b := made(14, func(s float64) float64 { return pulse(s, 6, 0.8, top) })
		assert.Len(t, find(pull.Config{}, b, 512), want, "%g N", top)
		assert.Len(t, find(pull.Config{Capacity: unit.Force(10e3)}, b, 512), 1, "%g N on a cell of 10 kN", top)
	}
}

// TestHandledBeforeAPull: a line that is handled in the seconds before a pull,
// by less than noise lets one tell at once, neither begins the pull too early nor
// is taken for a part of the zero.
func TestHandledBeforeAPull(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(8, 1))
	var zeros []float64
	for range 150 {
		before := uniform(r, 0.9, 5)
		b := quiet(r, 1000, 14, 100, func(s float64) float64 {
			return pulse(s, 8, 0.7, 30e3) + pulse(s, 8-before, 0.4, 400)
		})
		found := find(pull.Config{Capacity: 100e3}, b, 2000)
		require.Len(t, found, 1)
		assert.InDelta(t, 8, float64(found[0].Start)/1e9, 0.02, "handled %.2f s before", before)
		zeros = append(zeros, float64(found[0].Zero))
	}
	// 100 N of noise in about 4 s of readings: 0.13 N for the mean of so many.
	assert.InDelta(t, 0, mean(zeros), 0.6)
}

// TestNoiseThatLasts: noise that lasts from one reading to the next
// tells less of the zero and of the impulse than as many readings on their own,
// and their intervals say so. The noise is an autoregression of first order; its mean
// has √((1+a)/(1-a)) times the standard error of white noise (by the sum of
// its correlations a^k).
func TestNoiseThatLasts(t *testing.T) {
	t.Parallel()
	for _, a := range []float64{0, 0.9} {
		r := rand.New(rand.NewPCG(8, 2))
		held, impulse, n := 0.0, 0.0, 300.0
		for range int(n) {
			noise := 0.0
			b := quiet(r, 500, 12, 0, func(s float64) float64 {
				noise = a*noise + math.Sqrt(1-a*a)*30*r.NormFloat64()
				return noise + pulse(s, 7, 0.7, 30e3)
			})
			found := find(pull.Config{Capacity: 100e3}, b.Slice(0, 500*9), 2000)
			require.Len(t, found, 1)
			impulse += share(math.Abs(found[0].Impulse-30e3*0.7*2/math.Pi) <= found[0].Impulse95)
			for _, term := range found[0].Terms {
				if term.Name == "zero" {
					held += share(math.Abs(float64(found[0].Zero)) <= float64(term.High-term.Shift))
				}
			}
		}
		t.Logf("correlation %g: zero %g, impulse %g of %g", a, held, impulse, n)
		assert.GreaterOrEqual(t, impulse/n, 0.93-2*math.Sqrt(0.93*0.07/n), "correlation %g", a)
		assert.GreaterOrEqual(t, held/n, 0.93-2*math.Sqrt(0.93*0.07/n), "correlation %g", a)
		assert.LessOrEqual(t, held/n, 0.99)
	}
}

// TestHandledHard: a line that is handled by more than the threshold, and less
// than a pull takes, does not begin the pull that follows.
func TestHandledHard(t *testing.T) {
	t.Parallel()
	for _, before := range []float64{1.2, 2.5, 3.4} {
		b := made(16, func(s float64) float64 { return pulse(s, 8, 0.7, 20e3) + pulse(s, 8-before, 0.4, 0.008*capacity) })
		assert.InDelta(t, 8, float64(one(t, b).Start)/1e9, 0.003, "handled %g s before", before)
	}
}

// TestImpulseOnADriftingZero: what the zero moves while a load is held is no
// part of the impulse, nor of the rise.
func TestImpulseOnADriftingZero(t *testing.T) {
	t.Parallel()
	force := func(s float64) float64 { return 30e3 * max(0, min(1, (s-8)/2, 38-s)) }
	p := one(t, made(46, func(s float64) float64 { return force(s) + 3*(s-8) }))
	assert.InDelta(t, 30e3*(27+3./2), p.Impulse, 150, "the zero alone adds 3 N/s · (30 s)²/2, which is 1350 N·s")
	assert.InDelta(t, 1.6, p.RiseTime, 0.003)
	require.NotNil(t, p.ZeroShift)
	assert.Greater(t, float64(*p.ZeroShift), 90.0)
	assert.InDelta(t, 30e3, float64(*p.Steady), 15)

	// A zero that drifts as fast as one does is no slow rise: the pull begins
	// where the force does.
	p = one(t, made(46, func(s float64) float64 { return force(s) + 0.8*(s-20) }))
	assert.InDelta(t, 8, float64(p.Start)/1e9, 0.01)
}

// TestDifferenceOnADriftingZero: two pulls of one force, while the zero rises
// and while it falls, do not differ.
func TestDifferenceOnADriftingZero(t *testing.T) {
	t.Parallel()
	held := func(drift float64) pull.Pull {
		return one(t, quiet(rand.New(rand.NewPCG(4, 2)), 1000, 46, 1, func(s float64) float64 {
			return 30e3*max(0, min(1, (s-8)/2, 38-s)) + drift*s
		}))
	}
	c := pull.Compare(held(-2), held(2), true)
	assert.Less(t, c.Peak.Low, 0.0)
	assert.Greater(t, c.Peak.High, 0.0)
	assert.Less(t, c.Peak.Low+c.Peak.High, float64(c.Peak.Value), "it lies about what the zero leaves of the difference")
}

// TestRiseOfFewReadings: of a half-sine of half a second that is read ten times
// a second the rise is known to a fifth of the time between two readings, at
// whatever moments it is read, and the interval holds it. A half-sine passes
// 10 % and 90 % of its top at asin(0.1) and asin(0.9).
func TestRiseOfFewReadings(t *testing.T) {
	t.Parallel()
	const length = 0.5
	want := length / math.Pi * (math.Asin(0.9) - math.Asin(0.1))
	r := rand.New(rand.NewPCG(4, 3))
	var off []float64
	for n := range 40 {
		b := quiet(r, 10, 20, 5, func(s float64) float64 { return pulse(s, 9+float64(n)/400, length, 30e3) })
		p := one(t, b)
		assert.InDelta(t, want, p.RiseTime, p.RiseTime95)
		assert.Less(t, p.RiseTime95, 0.045)
		off = append(off, math.Abs(p.RiseTime-want))
	}
	assert.Less(t, mean(off), 0.02)
}
