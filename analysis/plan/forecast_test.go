package plan_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/plan"
	"tautlog/analysis/pull"
	"tautlog/analysis/rating"
	"tautlog/analysis/shock"
	"tautlog/calc/gear"
	"tautlog/calc/kinetic"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
)

// logged makes pulls of one class, on so many days, of known speed or not.
// Their peaks are the two-body formula's for a stiffness of 6 MBS over the
// length and a ground that holds half of the weight, with a scatter of 12 %.
func logged(seed uint64, n, days int, speeds bool) (out []shock.Pull) {
	r := rand.New(rand.NewPCG(61, seed))
	for i := range n {
		p := shock.Pull{
			Line: i + 1, Day: fmt.Sprint(i % days), Class: shock.Class{Kind: pull.Kinetic, Ground: "mud", Strap: "kinetic rope"},
			Reference: unit.Mass(2400 + 800*r.Float64()), Speed: unit.Speed(1.5 + 2*r.Float64()), Puller: unit.Mass(2400 + 800*r.Float64()),
			StrapLength: 9, StrapMBS: 90e3,
		}
		m, _ := kinetic.Closed(kinetic.Pull{
			Puller: p.Puller, Stuck: p.Reference, Speed: p.Speed, Resistance: p.Reference.Weight() / 2,
			Line: kinetic.Line{Curve: kinetic.Linear(6 * 90e3 / 9)},
		})
		p.Peak = m.Peak * unit.Force(math.Exp(0.12*r.NormFloat64()))
		if !speeds {
			p.Speed = 0
		}
		out = append(out, p)
	}
	return out
}

func kept(pulls []shock.Pull) shock.Kept {
	k := shock.Keep("river bar", pulls)
	k.Version = 3
	return k
}

// mass makes a mass of so many kilograms.
func mass(kg float64) *unit.Mass { m := unit.Mass(kg); return &m }

// rope is a kinetic rope of 9 m with an MBS of 90 kN, and a working limit.
func rope(limit float64) rig.Use {
	length := unit.Length(9)
	u := use("red rope", gear.KineticRope, gear.Rating{Value: 90e3, Basis: gear.MBS}, wll(limit))
	u.Item.Length = &length
	return u
}

// pulled is a plan in mud with a rig of that rope.
func pulled(limit float64, with shock.Kept) plan.Kinetic {
	r := of(inLine(rope(limit)))
	r.Pulling.GVM, r.Pulling.Weighed, r.Stuck.GVM = mass(3100), mass(2800), mass(2800)
	return plan.Kinetic{
		Plan:   kinetic.Plan{Speed: 2.5, Strap: kinetic.Strap{Stiffness: 60e3}, Resistance: 14e3},
		Ground: "mud", Rig: &r, With: with,
	}
}

func forecast(t require.TestingT, k plan.Kinetic) plan.Forecast {
	f, err := k.Forecast()
	require.NoError(t, err)
	return f
}

func highest(t require.TestingT, k plan.Kinetic) plan.Highest {
	h, err := forecast(t, k).Highest()
	require.NoError(t, err)
	return h
}

// By hand: 3 times the weight of 2.8 t is 82376 N; the model's peak for 2.8 t
// at 2.5 m/s on 60 kN/m, held by 14 kN, is by the two-body formula: x_R =
// 0.23333 m, v_R² = 6.25 − 60000·0.054444/2800 = 5.08333, μ = 1400 kg, Fc = 7000
// N, peak 7000 + √(7000² + 60000·1400·5.08333) = 28817 N.
func TestForecastByTheRuleOfThumb(t *testing.T) {
	t.Parallel()
	f := forecast(t, pulled(90e3, shock.RuleOfThumb()))
	assert.InDelta(t, 82376, float64(f.Planning), 0.5)
	assert.InDelta(t, 28817, float64(f.Expected), 0.5)
	assert.Equal(t, "Planned with 82.4 kN: 3.00 times the weight of 2.8 t, assumed, not measured: common practice, no source (rule of thumb).", f.PlannedWith)
	assert.Equal(t, []string{
		"Heron counts with 2.8 t, as weighed.", "Otter counts with its GVM of 2.8 t; it was not weighed.",
		"The line is red rope of the rig: 9 m long, MBS 90 kN.",
	}, f.Notes)
	require.Len(t, f.Evidence, 2)
	assert.Equal(t, plan.ByWord, f.Evidence[0].From)
	assert.True(t, f.Evidence[0].Used)
	assert.InDelta(t, 28817.4/(2800*9.80665), f.Evidence[1].Multiplier, 1e-5)
	assert.Equal(t, rating.Inside, f.Outlook.Result.AtHigh)
	assert.Equal(t, f.Planning, f.Outlook.Result.Peak.High)
	// ½·F²/k at the planning peak, and √(2E/m) of 1 kg; 1.5 times 9 m.
	assert.InDelta(t, 82376.*82376/120e3, f.Recoil.Energy, 2)
	assert.InDelta(t, math.Sqrt(2*82376.*82376/120e3), float64(f.Recoil.Parts[0].Speed), 0.01)
	assert.EqualValues(t, 13.5, f.Recoil.KeepOut)
	assert.Equal(t, "Keep out: 13.5 m from the line and its ends, 1.5 times its 9 m.", f.Recoil.Text()[1])
}

// Without speeds the bound of the class counts: times the reference weight, as
// the set has it.
func TestForecastByClass(t *testing.T) {
	t.Parallel()
	with := kept(logged(1, 30, 6, false))
	m, ok := with.Multiplier(shock.Class{Kind: pull.Kinetic, Ground: "mud", Strap: "kinetic rope"})
	require.True(t, ok)
	k := pulled(90e3, with)
	f := forecast(t, k)
	assert.InEpsilon(t, m.Upper*2800*9.80665, float64(f.Planning), 1e-12)
	assert.InEpsilon(t, *m.Median*2800*9.80665, float64(f.Expected), 1e-12)
	assert.Equal(t, "kinetic rope", f.Kinetic.Strap, "by its kind: the set does not know its name")
	assert.Contains(t, f.PlannedWith, "the upper bound of kinetic, mud, kinetic rope")
	assert.Contains(t, f.PlannedWith, "(river bar, version 3)")
	assert.Nil(t, f.Speeds)
	k.Reference = 2000
	assert.InEpsilon(t, m.Upper*2000*9.80665, float64(forecast(t, k).Planning), 1e-12)

	// The same pull at 8 m/s is beyond what any logged one was: the model is
	// above the bound, and stands.
	k.Plan.Speed = 8
	f = forecast(t, k)
	assert.Equal(t, f.Outcome.Peak, f.Planning)
	assert.Contains(t, f.PlannedWith, "the peak of the model: it is above the ")
}

// With speeds the fit by speed counts before the class, as the set has it.
func TestForecastBySpeed(t *testing.T) {
	t.Parallel()
	with := kept(logged(2, 30, 6, true))
	f := forecast(t, pulled(90e3, with))
	expected, upper, err := with.Speed().Peak(shock.Pull{
		Class: shock.Class{Kind: pull.Kinetic, Ground: "mud", Strap: "kinetic rope"}, Reference: 2800, Puller: 2800, Speed: 2.5, StrapLength: 9, StrapMBS: 90e3,
	})
	require.NoError(t, err)
	assert.Equal(t, expected, f.Expected)
	assert.Equal(t, *upper, f.Planning)
	require.Len(t, f.Evidence, 3)
	assert.Equal(t, []plan.Source{plan.BySpeed, plan.ByClass, plan.ByModel}, []plan.Source{f.Evidence[0].From, f.Evidence[1].From, f.Evidence[2].From})
	assert.True(t, f.Evidence[0].Used)
	assert.Contains(t, f.PlannedWith, "the upper bound by speed, fitted from 30 pulls on 6 days (river bar, version 3)")

	// Few days give no bound by speed: then the class counts.
	few := forecast(t, pulled(90e3, kept(logged(3, 30, 3, true))))
	assert.Nil(t, few.Evidence[0].Upper)
	assert.True(t, few.Evidence[1].Used)

	k := pulled(90e3, with)
	k.Plan.Speed = 5
	f = forecast(t, k)
	assert.Contains(t, f.Notes[len(f.Notes)-1], "At 18 km/h the pull is outside of the speeds of the logged pulls")
	k.Ground, k.Plan.Speed = "snow", 2.5
	f = forecast(t, k)
	assert.Contains(t, f.Notes, "The set river bar, version 3 has no bound for kinetic, snow, kinetic rope: the rule of thumb stands in.")
	assert.InDelta(t, 82376, float64(f.Planning), 0.5)
}

// A fit by speed without a bound, and a class of too few pulls for one: the
// rule of thumb stands in, and both are shown.
func TestForecastWithoutAnyBound(t *testing.T) {
	t.Parallel()
	pulls := logged(6, 30, 3, true)
	for i := range pulls[2:] {
		if i%2 == 0 {
			pulls[i+2].Class.Ground = "sand"
		} else {
			pulls[i+2].Class.Strap = "strap"
		}
	}
	f := forecast(t, pulled(90e3, kept(pulls)))
	require.Equal(t, plan.BySpeed, f.Evidence[0].From)
	assert.Nil(t, f.Evidence[0].Upper)
	assert.True(t, f.Evidence[1].Used)
	assert.InDelta(t, 82376, float64(f.Planning), 0.5)
	assert.Contains(t, f.Notes, "The set river bar, version 3 has no bound for kinetic, mud, kinetic rope: the rule of thumb stands in.")

	// Without the strap's length the fit has nothing to say.
	k := pulled(90e3, kept(logged(2, 12, 3, true)))
	k.Rig.Chain[0].Item.Length = nil
	f = forecast(t, k)
	assert.Equal(t, plan.ByClass, f.Evidence[0].From)
	assert.Contains(t, f.Notes[len(f.Notes)-1], "The fit by speed of the set river bar, version 3 cannot be used: the pull cannot be planned: no length of the strap")
}

func TestForecastSaysWhatIsMissing(t *testing.T) {
	t.Parallel()
	_, err := plan.Kinetic{}.Forecast()
	require.ErrorIs(t, err, plan.ErrMissing)
	assert.EqualError(t, err, "the pull cannot be planned: the mass of the puller, the mass of the stuck vehicle, how the line stretches is not known")
	k := pulled(90e3, shock.RuleOfThumb())
	k.Plan.Speed = -1
	_, err = k.Forecast()
	assert.ErrorIs(t, err, kinetic.ErrPull)
	k = pulled(90e3, shock.RuleOfThumb())
	k.Rig.Chain = nil
	_, err = k.Forecast()
	assert.ErrorIs(t, err, rig.ErrRig)
	k = pulled(90e3, shock.RuleOfThumb())
	k.Rig = nil
	k.Plan.Puller, k.Plan.Stuck = 2800, 2800
	f := forecast(t, k)
	assert.Nil(t, f.Outlook)
	assert.Empty(t, f.Notes)
}

// What the rig records of its rope is used, and what flies is what it lists.
func TestForecastTakesTheStiffnessOfTheRig(t *testing.T) {
	t.Parallel()
	k := pulled(90e3, shock.RuleOfThumb())
	k.Plan.Strap = kinetic.Strap{}
	_, err := k.Forecast()
	require.ErrorContains(t, err, plan.Line)
	stiffness := unit.Stiffness(60e3)
	k.Rig.Chain[0].Item.Stiffness, k.Rig.Chain[0].Item.Mass = &stiffness, mass(4)
	f := forecast(t, k)
	assert.InDelta(t, 28817, float64(f.Outcome.Peak), 0.5)
	require.Len(t, f.Recoil.Parts, 1)
	assert.Equal(t, "red rope", f.Recoil.Parts[0].Name)
}
