package shock_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/analysis/pull"
	"tautlog/analysis/shock"
	"tautlog/calc/unit"
)

// logged makes a pull of a factor.
func logged(day string, c shock.Class, factor float64) shock.Pull {
	const kg = 2800
	return shock.Pull{Day: day, Class: c, Reference: kg, Peak: unit.Force(factor * kg * unit.StandardGravity)}
}

var mud = shock.Class{Kind: pull.Kinetic, Ground: "mud", Strap: "rope"}

// TestOneClassOfIndependentPulls: where no two pulls share a day and there is
// one class, the bound is the published one: mean and standard deviation of
// the logarithm and the factor of testdata/shock/k_factors.csv.
func TestOneClassOfIndependentPulls(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(1, 2))
	for _, row := range table(t, "k_factors.csv") {
		n := int(row["n"])
		if n < shock.FewestAny {
			continue
		}
		var pulls []shock.Pull
		var sum, square float64
		for i := range n {
			y := 0.4 + 0.25*r.NormFloat64()
			sum += y
			square += y * y
			pulls = append(pulls, logged(fmt.Sprint(i), mud, math.Exp(y)))
		}
		mean := sum / float64(n)
		sd := math.Sqrt((square - sum*mean) / float64(n-1))
		c := shock.Fit(pulls).Classes[0]
		assert.InEpsilon(t, math.Exp(mean), c.Median, 1e-9, "n = %d", n)
		require.NotNil(t, c.Upper)
		assert.InDelta(t, row["k_p95_c95"], (math.Log(*c.Upper)-mean)/sd, 2e-5*row["k_p95_c95"], "n = %d", n)
		assert.Equal(t, n < shock.FewestAlone, c.Pooled)
	}
}

// TestFewPulls: no bound for fewer than three, a marked one for fewer than
// five.
func TestFewPulls(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(3, 4))
	var pulls []shock.Pull
	for n, ground := range []string{"none", "one", "two", "three", "four", "five", "six"} {
		for i := range n {
			pulls = append(pulls, logged(fmt.Sprint("day ", i), shock.Class{Kind: pull.Kinetic, Ground: ground}, math.Exp(0.2*r.NormFloat64())))
		}
	}
	for _, c := range shock.Fit(pulls).Classes {
		n := slices.Index([]string{"none", "one", "two", "three", "four", "five", "six"}, c.Class.Ground)
		assert.Equal(t, n, c.Pulls)
		assert.Equal(t, n, c.Days)
		assert.Equal(t, n >= 3, c.Upper != nil, c.Class.Ground)
		assert.Equal(t, n == 3 || n == 4, c.Pooled, c.Class.Ground)
		assert.InDelta(t, 1, c.Median, 0.5)
	}
	alone := shock.Fit(pulls[:1]).Classes
	require.Len(t, alone, 1)
	assert.Nil(t, alone[0].Upper)
	_, low, high, ok := alone[0].ShareAbove(2)
	assert.False(t, ok)
	assert.Equal(t, [2]float64{0, 1}, [2]float64{low, high})
}

// TestSmallClassesBorrow: three pulls among many of other classes have, on the
// whole, a tighter bound than alone.
func TestSmallClassesBorrow(t *testing.T) {
	t.Parallel()
	gain := 0.0
	const clubs = 30
	for n := range clubs {
		r := rand.New(rand.NewPCG(5, uint64(n)))
		var few, many []shock.Pull
		for i := range 60 {
			many = append(many, logged(fmt.Sprint(i%12), shock.Class{Kind: pull.Kinetic, Ground: fmt.Sprint(i % 4)}, math.Exp(0.3+0.2*r.NormFloat64())))
		}
		for i := range 3 {
			few = append(few, logged(fmt.Sprint(i), mud, math.Exp(0.3+0.2*r.NormFloat64())))
		}
		alone := shock.Fit(few).Classes[0]
		among := shock.Fit(append(many, few...)).Classes[4]
		require.Equal(t, mud, among.Class)
		assert.True(t, alone.Alone)
		assert.False(t, among.Alone)
		gain += math.Log(*alone.Upper / *among.Upper) / clubs
	}
	assert.Greater(t, gain, 0.4)
}

// TestDaysCount: the same pulls tell less when they are of few days that
// differ than of many.
func TestDaysCount(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(7, 8))
	var together, apart []shock.Pull
	for d := range 4 {
		effect := 0.2 * r.NormFloat64()
		for i := range 10 {
			p := logged(fmt.Sprint(d), mud, math.Exp(effect+0.1*r.NormFloat64()))
			together = append(together, p)
			p.Day += fmt.Sprint("-", i)
			apart = append(apart, p)
		}
	}
	assert.Greater(t, *shock.Fit(together).Classes[0].Upper, 1.1**shock.Fit(apart).Classes[0].Upper)
}

// TestUnderSampledPeaks: a peak that was under-sampled counts as the interval
// that it is. Against the true peaks, the median of intervals is hardly off (a
// little high, since within an interval all values count as equally likely),
// while the readings as they are lie too low.
func TestUnderSampledPeaks(t *testing.T) {
	t.Parallel()
	var errorOfIntervals, errorOfReadings, spread float64
	const n = 60
	for i := range n {
		r := rand.New(rand.NewPCG(9, uint64(i)))
		var truth, intervals, readings []shock.Pull
		for d := range 60 {
			p := logged(fmt.Sprint(d), mud, math.Exp(0.4+0.25*r.NormFloat64()))
			truth = append(truth, p)
			hidden := 0.4
			p.Peak *= unit.Force(1 - hidden*r.Float64())
			readings = append(readings, p)
			p.Low, p.High = p.Peak, p.Peak/unit.Force(1-hidden)
			p.Flags = []string{pull.FlagSampling}
			intervals = append(intervals, p)
		}
		want := shock.Fit(truth).Classes[0]
		got := shock.Fit(intervals).Classes[0]
		errorOfIntervals += math.Log(got.Median/want.Median) / n
		errorOfReadings += math.Log(shock.Fit(readings).Classes[0].Median/want.Median) / n
		spread += math.Log(*got.Upper / *want.Upper) / n
		assert.Greater(t, got.Inexact, 50)
	}
	assert.InDelta(t, 0.02, errorOfIntervals, 0.02)
	assert.Less(t, errorOfReadings, -0.15)
	assert.InDelta(t, 0.03, spread, 0.06)
}

// TestOverloadIsALowerBound: a peak at which the instrument was at its end
// raises what is reckoned with, and raises it more than as a plain reading.
func TestOverloadIsALowerBound(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(11, 12))
	var pulls []shock.Pull
	for d := range 30 {
		pulls = append(pulls, logged(fmt.Sprint(d), mud, math.Exp(0.3*r.NormFloat64())))
	}
	plain := shock.Fit(pulls).Classes[0]
	for i, p := range pulls {
		if p.Factor() > plain.Median*1.3 {
			pulls[i].Flags = []string{"Overload"}
			pulls[i].Peak = logged("", mud, plain.Median*1.3).Peak
		}
	}
	cut := slices.Clone(pulls)
	for i := range cut {
		cut[i].Flags = nil
	}
	flagged, unflagged := shock.Fit(pulls).Classes[0], shock.Fit(cut).Classes[0]
	assert.Greater(t, *flagged.Upper, 1.1**unflagged.Upper)
	assert.InEpsilon(t, plain.Median, flagged.Median, 0.05)
	assert.InEpsilon(t, *plain.Upper, *flagged.Upper, 0.25)
}

// TestFitProperties: heavier peaks by a factor, other names of days and
// another order of the pulls change what they should and nothing else.
func TestFitProperties(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "club"), 1))
		pulls := newClub(r).pulls[:40]
		by := rapid.Float64Range(0.2, 5).Draw(t, "by")
		other := slices.Clone(pulls)
		for i := range other {
			other[i].Peak *= unit.Force(by)
			other[i].Low *= unit.Force(by)
			other[i].High *= unit.Force(by)
			other[i].Day = "day " + other[i].Day
		}
		r.Shuffle(len(other), func(i, j int) { other[i], other[j] = other[j], other[i] })
		want, got := shock.Fit(pulls), shock.Fit(other)
		require.Equal(t, len(want.Classes), len(got.Classes))
		for i, w := range want.Classes {
			g := got.Classes[i]
			assert.Equal(t, w.Class, g.Class)
			assert.Equal(t, [2]int{w.Pulls, w.Days}, [2]int{g.Pulls, g.Days})
			assert.InEpsilon(t, by*w.Median, g.Median, 1e-3)
			if w.Upper != nil {
				require.NotNil(t, g.Upper)
				assert.InEpsilon(t, by**w.Upper, *g.Upper, 1e-3)
				assert.Greater(t, *w.Upper, w.Median)
			}
		}
	})
}

// TestEqualPeaks: peaks without any spread do not break the fit, and do not
// count as certainty.
func TestEqualPeaks(t *testing.T) {
	t.Parallel()
	var pulls []shock.Pull
	for d := range 10 {
		pulls = append(pulls, logged(fmt.Sprint(d), mud, 1.5))
	}
	c := shock.Fit(pulls).Classes[0]
	assert.InEpsilon(t, 1.5, c.Median, 1e-9)
	assert.InEpsilon(t, 1.5, *c.Upper, 0.02)
	assert.Greater(t, *c.Upper, 1.5)
}

func TestNothingIsDroppedSilently(t *testing.T) {
	t.Parallel()
	good := logged("1", mud, 1.2)
	var pulls []shock.Pull
	for i, change := range []func(*shock.Pull){
		func(*shock.Pull) {},
		func(p *shock.Pull) { p.Peak = 0 },
		func(p *shock.Pull) { p.Peak = unit.Force(math.NaN()) },
		func(p *shock.Pull) { p.Reference = 0 },
		func(p *shock.Pull) { p.Day = "" },
		func(p *shock.Pull) { p.Class.Kind = "" },
		func(p *shock.Pull) { p.High = p.Peak / 2 },
		func(p *shock.Pull) { p.Class = shock.Class{Kind: pull.Steady} },
	} {
		p := good
		p.Line = i + 2
		change(&p)
		pulls = append(pulls, p)
	}
	s := shock.Fit(pulls)
	assert.Len(t, s.Used, 2)
	var lines []int
	for _, l := range s.LeftOut {
		lines = append(lines, l.Pull.Line)
		assert.NotEmpty(t, l.Reason)
	}
	assert.Equal(t, []int{3, 4, 5, 6, 7, 8}, lines)
}

func TestOutliersAreListedAndUsed(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(13, 14))
	var pulls []shock.Pull
	for d := range 30 {
		p := logged(fmt.Sprint(d), mud, math.Exp(0.2*r.NormFloat64()))
		p.Line = d + 2
		pulls = append(pulls, p)
	}
	pulls[20].Peak *= 6
	s := shock.Fit(pulls)
	out := s.Outliers()
	require.Len(t, out, 1)
	assert.Equal(t, 22, out[0].Pull.Line)
	record := s.Record()
	require.Len(t, record.Classes, 1)
	c := record.Classes[0]
	require.NotNil(t, c.WithoutOutliers)
	assert.Equal(t, 30, c.Pulls)
	assert.Equal(t, 29, c.WithoutOutliers.Pulls)
	assert.Less(t, *c.WithoutOutliers.Upper, *c.Upper)
	assert.Nil(t, c.WithoutFlagged)
}

func TestCheckFollowsItsRule(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		c := newClub(rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "club"), 2)))
		s := shock.Fit(c.pulls)
		assumed := rapid.Float64Range(0.5, 5).Draw(t, "assumed")
		ground := rapid.SampledFrom([]string{"ground 0", "ground 1", "ground 2", "any"}).Draw(t, "ground")
		chosen := func(k shock.Class) bool { return ground == "any" || k.Ground == ground }
		got := s.Check(assumed, chosen)
		pulls, above := 0, 0
		for _, p := range c.pulls {
			if chosen(p.Class) {
				pulls++
				if p.Factor() > assumed {
					above++
				}
			}
		}
		assert.Equal(t, [2]int{pulls, above}, [2]int{got.Pulls, got.Above})
		low, high := shock.Share(above, pulls, 0.95)
		assert.Equal(t, [2]float64{low, high}, [2]float64{got.Low, got.High})
		want := shock.NotDecided
		if got.Upper != nil && *got.Upper <= assumed {
			want = shock.Supported
		}
		if low > 0.05 {
			want = shock.Contradicted
		}
		assert.Equal(t, want, got.Answer)
		more := got.More()
		if got.Answer != shock.NotDecided {
			require.NotNil(t, more)
			assert.Zero(t, *more)
		} else if more != nil {
			assert.Positive(t, *more)
		}
		for _, f := range s.Classes {
			if chosen(f.Class) && f.Upper != nil {
				assert.LessOrEqual(t, *f.Upper, *got.Upper)
			}
		}
		assert.NotContains(t, strings.ToLower(got.Sentence()), "safe")
	})
}

// TestMorePullsAreEnough: with about as many more pulls as reckoned, of the
// same kind, about half of the clubs are decided; with three times as many
// most are.
func TestMorePullsAreEnough(t *testing.T) {
	t.Parallel()
	decided, asked := [2]int{}, 0
	for i := range 120 {
		r := rand.New(rand.NewPCG(15, uint64(i)))
		var pulls []shock.Pull
		add := func(n int) {
			for range n {
				pulls = append(pulls, logged(fmt.Sprint(len(pulls)), mud, math.Exp(0.25*r.NormFloat64())))
			}
		}
		add(15)
		all := func(shock.Class) bool { return true }
		const assumed = 1.75 // the true percentile is 1.51
		first := shock.Fit(pulls).Check(assumed, all)
		more := first.More()
		if first.Answer != shock.NotDecided || more == nil || *more > 300 {
			continue
		}
		asked++
		add(*more)
		if shock.Fit(pulls).Check(assumed, all).Answer == shock.Supported {
			decided[0]++
		}
		add(2 * *more)
		if shock.Fit(pulls).Check(assumed, all).Answer == shock.Supported {
			decided[1]++
		}
	}
	t.Logf("of %d, %d decided with as many more as reckoned, %d with three times as many", asked, decided[0], decided[1])
	require.Greater(t, asked, 40)
	assert.InDelta(t, 0.6, float64(decided[0])/float64(asked), 0.3)
	assert.Greater(t, float64(decided[1])/float64(asked), 0.75)
}

// TestOnlyLowerBounds: where the instrument was at its end each time, no bound
// is given, and the median is not below what was read.
func TestOnlyLowerBounds(t *testing.T) {
	t.Parallel()
	var pulls []shock.Pull
	for d := range 8 {
		p := logged(fmt.Sprint(d), mud, 1.4+0.02*float64(d))
		p.Flags = []string{pull.FlagOverload}
		pulls = append(pulls, p)
	}
	s := shock.Fit(pulls)
	c := s.Classes[0]
	assert.Nil(t, c.Upper)
	assert.GreaterOrEqual(t, c.Median, 1.4)
	assert.Contains(t, c.Note(), "only lower bounds")
	got := s.Check(3, func(shock.Class) bool { return true })
	assert.Equal(t, shock.NotDecided, got.Answer)
	assert.Equal(t, 8, got.Perhaps)
	require.NotNil(t, got.More())
	assert.Equal(t, 3, *got.More())
	for i := range 2 {
		pulls[i].Flags = nil
	}
	assert.Nil(t, shock.Fit(pulls).Classes[0].Upper)
}

// TestUnlikeClassesAndOutliers: a class of wide spread beside one of none is
// not made of outliers, and has the wider bound.
func TestUnlikeClassesAndOutliers(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(17, 18))
	var pulls []shock.Pull
	for d := range 20 {
		pulls = append(pulls, logged(fmt.Sprint(d), mud, math.Exp(0.3*r.NormFloat64())))
		pulls = append(pulls, logged(fmt.Sprint(d), shock.Class{Kind: pull.Kinetic, Ground: "sand"}, math.Exp(0.03*r.NormFloat64())))
	}
	s := shock.Fit(pulls)
	assert.Empty(t, s.Outliers())
	require.Equal(t, "sand", s.Classes[1].Class.Ground)
	assert.Less(t, *s.Classes[1].Upper, 1.2)
	assert.Greater(t, *s.Classes[0].Upper, math.Exp(z95*0.3))
}
