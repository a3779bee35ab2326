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
	assert.Less(t, f.Spread, 1e-4)
}

// TestSpeedFitIntervals: with spread, the intervals hold the truth about as
// often as they say, and so does the bound of a planned pull. Drawing few days
// again is known to give intervals that are somewhat short.
func TestSpeedFitIntervals(t *testing.T) {
	t.Parallel()
	rounds := 6
	if *clubs > 0 {
		rounds = 200
	}
	held, asked, bounds := 0, 0, 0
	for n := range rounds {
		r := rand.New(rand.NewPCG(22, uint64(n)))
		f, _ := shock.FitSpeed(withSpeed(t, r, 60, 10, 0.06, 0.12))
		require.NotNil(t, f)
		assert.InDelta(t, math.Hypot(0.06, 0.12), f.Spread, 0.06)
		for _, c := range f.Straps {
			asked++
			if *c.Low <= trueStraps()[c.Name] && trueStraps()[c.Name] <= *c.High {
				held++
			}
		}
		for _, c := range f.Grounds {
			asked++
			if c.Low != nil && *c.Low <= trueGrounds()[c.Name] && trueGrounds()[c.Name] <= *c.High {
				held++
			}
		}
		plan := withSpeed(t, r, 1, 1, 0, 0)[0]
		expected, upper, err := f.Peak(plan)
		require.NoError(t, err)
		require.NotNil(t, upper)
		assert.InEpsilon(t, float64(plan.Peak), float64(expected), 0.2)
		if float64(*upper) >= float64(plan.Peak)*math.Exp(z95*math.Hypot(0.06, 0.12)) {
			bounds++
		}
	}
	t.Logf("%d clubs: %.1f %% of %d intervals and %.1f %% of the bounds held", rounds, 100*float64(held)/float64(asked), asked, 100*float64(bounds)/float64(rounds))
	assert.Greater(t, float64(held)/float64(asked), 0.8)
	assert.Greater(t, float64(bounds)/float64(rounds), 0.7)
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
		func(p *shock.Pull) { p.Flags = []string{pull.FlagOverload} },
	} {
		change(&pulls[i])
	}
	f, out = shock.FitSpeed(pulls)
	require.NotNil(t, f)
	assert.Equal(t, 35, f.Pulls)
	assert.Len(t, out, 5)
	assert.Nil(t, f.Straps[0].Low, "four days are too few to draw again")
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
