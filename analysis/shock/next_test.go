package shock_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/shock"
	"tautlog/calc/unit"
)

// lopsided is a log as clubs have it: most pulls on sand with the strap, few
// in mud with the rope, and the hard ones are to be planned there.
func lopsided(t *testing.T, r *rand.Rand) []shock.Pull {
	t.Helper()
	seen := map[shock.Class]int{}
	return slices.DeleteFunc(withSpeed(t, r, 90, 8, 0.06, 0.12), func(p shock.Pull) bool {
		seen[p.Class]++
		return p.Speed > 3.5 || (p.Class.Ground == "mud" || p.Class.Strap == "rope") && seen[p.Class] > 5
	})
}

// askFor asks for the pulls that would narrow the bound of a pull in mud.
func askFor(pulls []shock.Pull, limit unit.Force) shock.NextAsk {
	return shock.NextAsk{
		Pulls: pulls, Limit: limit, Count: 6,
		Target: shock.Pull{
			Class: shock.Class{Kind: "kinetic", Ground: "mud", Strap: "rope"}, Speed: 3, Puller: 2800, Reference: 3200,
			StrapLength: 9, StrapMBS: 100e3,
		},
		Offer: shock.Offer{Straps: []shock.OfferedStrap{{Name: "rope", Length: 9, MBS: 100e3}, {Name: "strap", Length: 9, MBS: 100e3}}},
	}
}

// TestNextIsWorthFollowing: on clubs of which the truth is known, the pulls of
// the plan narrow what is known of the target at least as much as as many
// pulls drawn from those allowed, in the bound and in the error of the
// expected peak; and the true peaks of planned pulls are above the limit in no
// more than 5 of 100 cases.
func TestNextIsWorthFollowing(t *testing.T) {
	t.Parallel()
	rounds := 6
	if *clubs > 0 {
		rounds = min(*clubs, 300)
	}
	const limit = 60e3
	over, made, none := 0, 0, 0
	var bound, miss, expected, doubt [2]float64
	before := 0.0
	for n := range rounds {
		r := rand.New(rand.NewPCG(31, uint64(n)))
		pulls := lopsided(t, r)
		ask := askFor(pulls, limit)
		plan, err := shock.Next(ask)
		require.NoError(t, err)
		if len(plan.Pulls) == 0 {
			none++ // so little is known that any pull may be above the limit
			continue
		}
		require.NotNil(t, plan.Then)
		var follow, random []shock.Pull
		for _, p := range plan.Pulls {
			assert.LessOrEqual(t, float64(p.Upper), limit)
			for range p.Count {
				follow = append(follow, p.Pull)
				random = append(random, plan.Allowed[r.IntN(len(plan.Allowed))].Pull)
			}
		}
		require.Len(t, follow, 6)
		truth := float64(truePeak(t, plan.Target))
		noise := []float64{0.06 * r.NormFloat64()}
		for range 6 {
			noise = append(noise, 0.12*r.NormFloat64())
		}
		for i, next := range [][]shock.Pull{follow, random} {
			log := slices.Clone(pulls)
			for j, p := range next {
				p.Day, p.Peak = "next", truePeak(t, p)*unit.Force(math.Exp(noise[0]+noise[j+1]))
				log = append(log, p)
				if i == 0 {
					made++
					if p.Peak > limit {
						over++
					}
				}
			}
			f, _ := shock.FitSpeed(log)
			require.NotNil(t, f)
			peak, upper, err := f.Peak(plan.Target)
			require.NoError(t, err)
			require.NotNil(t, upper)
			bound[i] += math.Log(float64(*upper) / truth)
			miss[i] += math.Pow(math.Log(float64(peak)/truth), 2)
		}
		doubt[0] += plan.DoubtNow
		doubt[1] += plan.DoubtThen
		f0, _ := shock.FitSpeed(pulls)
		p0, _, _ := f0.Peak(plan.Target)
		before += math.Pow(math.Log(float64(p0)/truth), 2)
		expected[0] += math.Log(float64(*plan.Now) / truth)
		expected[1] += math.Log(float64(*plan.Then) / truth)
	}
	n := float64(rounds - none)
	for _, sum := range []*float64{&before, &bound[0], &bound[1], &miss[0], &miss[1], &expected[0], &expected[1], &doubt[0], &doubt[1]} {
		*sum /= n
	}
	t.Logf("%d clubs, %d of them without a plan: expected peak of the target wrong by %.1f %% before (by the design %.1f %%), by %.1f %% after the plan (by the design %.1f %%) and %.1f %% after pulls drawn from those allowed (roots of mean squares)",
		rounds, none, 100*math.Sqrt(before), 100*doubt[0], 100*math.Sqrt(miss[0]), 100*doubt[1], 100*math.Sqrt(miss[1]))
	t.Logf("the bound lies %.1f %% above the true peak, expected to become %.1f %%; it became %.1f %% by the plan and %.1f %% by pulls drawn; %d of %d planned pulls above the limit",
		100*math.Expm1(expected[0]), 100*math.Expm1(expected[1]), 100*math.Expm1(bound[0]), 100*math.Expm1(bound[1]), over, made)
	few := 1 / math.Sqrt(n)
	assert.LessOrEqual(t, none, rounds/10)
	assert.Less(t, miss[0], before*(1+0.3*few), "the plan tells more of the target")
	assert.LessOrEqual(t, miss[0], miss[1]*(1+0.5*few), "no less than pulls drawn from those allowed")
	assert.LessOrEqual(t, bound[0], bound[1]+0.05*few, "nor is the bound wider than by pulls drawn")
	assert.LessOrEqual(t, float64(over), 0.05*float64(made)+2*math.Sqrt(0.05*0.95*float64(made)))
}

// TestNextClassExpectation: over clubs of which the truth is known, what is
// expected of the bound of a class after six more pulls is on average what it
// becomes when they are made, and pulls on three days do more than on one, which
// does more than the last day once more.
func TestNextClassExpectation(t *testing.T) {
	t.Parallel()
	rounds := 30
	if *clubs > 0 {
		rounds = min(*clubs, 1000)
	}
	const pulls = 6
	var now, expected, became [4]float64
	n := 0.0
	for i := range rounds {
		r := rand.New(rand.NewPCG(32, uint64(i)))
		c := newClub(r)
		plan, err := shock.Next(shock.NextAsk{Pulls: c.pulls, Limit: 1e9, Count: pulls})
		require.NoError(t, err)
		if plan.ClassNow == nil || len(plan.Days) != 4 {
			continue
		}
		n++
		k := plan.Target.Class
		for j, d := range plan.Days {
			log := slices.Clone(c.pulls)
			effects := []float64{c.day * r.NormFloat64(), c.day * r.NormFloat64(), c.day * r.NormFloat64()}
			for m := range pulls {
				day, effect := fmt.Sprint("next ", m%d.Days), effects[m%d.Days]
				if d.Same {
					day = c.pulls[len(c.pulls)-1].Day
					effect = c.effects[day]
				}
				peak := 1000 * unit.StandardGravity * math.Exp(c.level[k]+effect+c.single[k]*r.NormFloat64())
				log = append(log, shock.Pull{Day: day, Class: k, Peak: unit.Force(peak), Reference: 1000})
			}
			set := shock.Fit(log)
			f := set.Classes[slices.IndexFunc(set.Classes, func(f shock.ClassFit) bool { return f.Class == k })]
			now[j] += math.Log(*plan.ClassNow)
			expected[j] += math.Log(d.Upper)
			became[j] += math.Log(*f.Upper)
		}
	}
	for j, what := range []string{"last day", "1 day", "2 days", "3 days"} {
		t.Logf("%s: of %.0f clubs, the bound by six pulls: expected %+.1f %%, became %+.1f %%", what, n, 100*(expected[j]-now[j])/n, 100*(became[j]-now[j])/n)
		assert.InDelta(t, expected[j]/n, became[j]/n, 0.02+0.25/math.Sqrt(n), what)
		if j > 0 {
			assert.Less(t, expected[j], expected[j-1], what)
		}
	}
}
