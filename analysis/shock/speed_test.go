package shock_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/analysis/shock"
	"tautlog/calc/kinetic"
	"tautlog/calc/unit"
)

// The true coefficients of the made-up pulls below.
func trueStraps() map[string]float64  { return map[string]float64{"rope": 6.5, "strap": 12} }
func trueGrounds() map[string]float64 { return map[string]float64{"mud": 0.7, "sand": 0.35} }

// withSpeed makes n pulls whose true peaks are those of the integrated motion
// of calc/kinetic, spread by days and from pull to pull.
func withSpeed(t *testing.T, r *rand.Rand, n, days int, dayToDay, spread float64) (pulls []shock.Pull) {
	t.Helper()
	effects := make([]float64, days)
	for i := range effects {
		effects[i] = dayToDay * r.NormFloat64()
	}
	for range n {
		d := r.IntN(days)
		p := shock.Pull{
			Day: fmt.Sprint(d), Class: shock.Class{Kind: pull.Kinetic, Ground: "mud", Strap: "rope"},
			Speed: unit.Speed(uniform(r, 1, 5)), Puller: unit.Mass(uniform(r, 1800, 4500)), Reference: unit.Mass(uniform(r, 1800, 4500)),
			StrapLength: unit.Length(uniform(r, 6, 12)), StrapMBS: unit.Force(uniform(r, 80e3, 140e3)),
		}
		if r.IntN(2) == 0 {
			p.Class.Ground = "sand"
		}
		if r.IntN(3) == 0 {
			p.Class.Strap = "strap"
		}
		p.Peak = unit.Force(math.Exp(effects[d]+spread*r.NormFloat64())) * truePeak(t, p)
		pulls = append(pulls, p)
	}
	return pulls
}

func truePeak(t *testing.T, p shock.Pull) unit.Force {
	t.Helper()
	k := trueStraps()[p.Class.Strap] * float64(p.StrapMBS) / float64(p.StrapLength)
	m, err := kinetic.Solve(kinetic.Pull{
		Puller: p.Puller, Stuck: p.Reference, Speed: p.Speed, Line: kinetic.Line{Curve: kinetic.Linear(unit.Stiffness(k))},
		Resistance: unit.Force(trueGrounds()[p.Class.Ground]) * p.Reference.Weight(),
	}, kinetic.Options{})
	require.NoError(t, err)
	return m.Peak
}

// TestSpeedFitFindsWhatWasPutIn: without spread, the coefficients come back.
func TestSpeedFitFindsWhatWasPutIn(t *testing.T) {
	t.Parallel()
	f, out := shock.FitSpeed(withSpeed(t, rand.New(rand.NewPCG(21, 1)), 60, 8, 0, 0))
	require.NotNil(t, f)
	assert.Empty(t, out)
	require.Len(t, f.Straps, 2)
	require.Len(t, f.Grounds, 2)
	for _, c := range f.Straps {
		assert.InEpsilon(t, trueStraps()[c.Name], c.Value, 1e-4, c.Name)
	}
	for _, c := range f.Grounds {
		assert.InEpsilon(t, trueGrounds()[c.Name], c.Value, 1e-4, c.Name)
	}
	assert.Less(t, f.Spread, 2e-3, "as little as is believed")
}

// TestSpeedFitSaysWhatItCannot: too few pulls, pulls with something missing,
// ground on which nothing moved, straps that were not there.
func TestSpeedFitSaysWhatItCannot(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(23, 1))
	f, out := shock.FitSpeed([]shock.Pull{logged("1", mud, 1.5)})
	assert.Nil(t, f)
	assert.Empty(t, out, "no speeds at all: nothing to list")

	few := withSpeed(t, r, 5, 5, 0, 0.1)
	f, out = shock.FitSpeed(few)
	assert.Nil(t, f)
	assert.Len(t, out, 5)

	pulls := withSpeed(t, r, 40, 4, 0, 0.1)
	for i, change := range []func(*shock.Pull){
		func(p *shock.Pull) { p.Speed = 0 },
		func(p *shock.Pull) { p.Puller = 0 },
		func(p *shock.Pull) { p.StrapLength = 0 },
		func(p *shock.Pull) { p.StrapMBS = 0 },
	} {
		change(&pulls[i])
	}
	f, out = shock.FitSpeed(pulls)
	require.NotNil(t, f)
	assert.Equal(t, 36, f.Pulls)
	assert.Len(t, out, 4)
	assert.Nil(t, f.Straps[0].Low, "four days are too few for an interval")
	expected, upper, err := f.Peak(pulls[20])
	require.NoError(t, err)
	assert.Positive(t, expected)
	assert.Nil(t, upper)
	other := pulls[20]
	other.Class.Strap = "chain"
	_, _, err = f.Peak(other)
	require.ErrorContains(t, err, "chain")
	_, _, err = f.Peak(pulls[0])
	require.ErrorContains(t, err, "no speed")

	var slow []shock.Pull
	for range 20 {
		p := withSpeed(t, r, 1, 1, 0, 0)[0]
		p.Class.Ground, p.Class.Strap = "clay", "rope"
		p.Peak = unit.Force(float64(p.Speed) * math.Sqrt(6.5*float64(p.StrapMBS)/float64(p.StrapLength)*float64(p.Puller)) * math.Exp(0.02*r.NormFloat64()))
		slow = append(slow, p)
	}
	f, _ = shock.FitSpeed(slow)
	require.NotNil(t, f)
	assert.InEpsilon(t, 6.5, f.Straps[0].Value, 0.05)
}

// TestExactPeaksComeBack: a dozen exact peaks of three days, on ground that
// gives way and on ground that holds, are found again. (In the second and the
// third club, a search that starts badly ends where nothing moves.)
func TestExactPeaksComeBack(t *testing.T) {
	t.Parallel()
	for _, n := range []int{0, 107, 167, 1, 2, 3, 4} {
		c := newSpeedClub(rand.New(rand.NewPCG(25, uint64(n))), design{pulls: 12, days: [2]int{3, 3}, straps: 1, grounds: 1, still: n%4 == 0})
		c.single, c.day = 0, 0
		for i, p := range c.pulls {
			c.pulls[i].Peak = c.truth(p)
			c.pulls[i].Low, c.pulls[i].High = 0, 0
		}
		f, _ := shock.FitSpeed(c.pulls)
		require.NotNil(t, f)
		for _, r := range f.Residuals() {
			assert.InDelta(t, 0, r.Log, 3e-3, "club %d", n)
		}
	}
}

// TestSpeedFitIsTheSameEachTime: no chance is in the draws, and the order of
// the pulls hardly matters.
func TestSpeedFitIsTheSameEachTime(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(26, 1))
	pulls := withSpeed(t, r, 50, 8, 0.08, 0.12)
	plan := withSpeed(t, r, 1, 1, 0, 0)[0]
	first, _ := shock.FitSpeed(pulls)
	again, _ := shock.FitSpeed(pulls)
	_, one, err := first.Peak(plan)
	require.NoError(t, err)
	_, two, err := again.Peak(plan)
	require.NoError(t, err)
	assert.Equal(t, first.Straps, again.Straps)
	assert.Equal(t, first.Grounds, again.Grounds)
	assert.Equal(t, *one, *two)
	r.Shuffle(len(pulls), func(i, j int) { pulls[i], pulls[j] = pulls[j], pulls[i] })
	other, _ := shock.FitSpeed(pulls)
	_, three, err := other.Peak(plan)
	require.NoError(t, err)
	assert.InEpsilon(t, float64(*one), float64(*three), 0.02)
}

// TestStillGround: ground on which nothing moved is told from the rest, holds
// in plans at any speed, and its value is the largest factor of its pulls.
func TestStillGround(t *testing.T) {
	t.Parallel()
	c := newSpeedClub(rand.New(rand.NewPCG(27, 1)), design{pulls: 60, days: [2]int{10, 10}, straps: 2, grounds: 2, still: true})
	for i, p := range c.pulls {
		c.pulls[i].Peak = c.truth(p) * unit.Force(1+0.02*float64(i%5-2))
		c.pulls[i].Low, c.pulls[i].High = 0, 0
	}
	f, _ := shock.FitSpeed(c.pulls)
	require.NotNil(t, f)
	still := f.Grounds[1]
	require.True(t, still.Still)
	assert.Nil(t, still.Low)
	assert.Nil(t, still.High)
	most := 0.0
	for _, p := range c.pulls {
		if p.Class.Ground == still.Name {
			most = max(most, p.Factor())
		}
	}
	assert.Equal(t, most, still.Value)
	plan := c.planned(rand.New(rand.NewPCG(27, 2)), 0, 1)
	slow, _, err := f.Peak(plan)
	require.NoError(t, err)
	plan.Speed *= 10
	fast, _, err := f.Peak(plan)
	require.NoError(t, err)
	assert.InEpsilon(t, 10*float64(slow), float64(fast), 1e-9, "as against a fixed end")
}

// TestLowerBoundsRaise: peaks that are only lower bounds enter as that: the
// bound of a plan is above what it is where they count as exact.
func TestLowerBoundsRaise(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(28, 1))
	pulls := withSpeed(t, r, 60, 10, 0.05, 0.12)
	plan := withSpeed(t, r, 1, 1, 0, 0)[0]
	for i := range pulls {
		if i%3 == 0 {
			pulls[i].Peak *= 0.7
		}
	}
	exact, _ := shock.FitSpeed(pulls)
	for i := range pulls {
		if i%3 == 0 {
			pulls[i].Flags = []string{pull.FlagOverload}
		}
	}
	bounds, _ := shock.FitSpeed(pulls)
	assert.Equal(t, 60, bounds.Pulls)
	low, _, err := exact.Peak(plan)
	require.NoError(t, err)
	high, _, err := bounds.Peak(plan)
	require.NoError(t, err)
	assert.Greater(t, high, 1.05*low)
	assert.InEpsilon(t, float64(plan.Peak), float64(high), 0.15)
}
