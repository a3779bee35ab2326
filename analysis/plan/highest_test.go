package plan_test

import (
	"encoding/json"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/analysis/plan"
	"tautlog/analysis/pull"
	"tautlog/analysis/rating"
	"tautlog/analysis/shock"
	"tautlog/calc/gear"
	"tautlog/calc/kinetic"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
)

// TestHighestSpeedAgreesWithScipy: the speed at which the peak of the model is
// just the rope's limit, against brentq over solve_ivp.
func TestHighestSpeedAgreesWithScipy(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile("../../testdata/plan/highest_speed.json")
	require.NoError(t, err)
	var file struct {
		Rows []struct{ M1, M2, K, Hold, Limit, Speed float64 }
	}
	require.NoError(t, json.Unmarshal(text, &file))
	require.NotEmpty(t, file.Rows)
	for _, row := range file.Rows {
		k := pulled(row.Limit, shock.RuleOfThumb())
		k.Plan = kinetic.Plan{Puller: unit.Mass(row.M1), Stuck: unit.Mass(row.M2), Speed: 1, Resistance: unit.Force(row.Hold), Strap: kinetic.Strap{Stiffness: unit.Stiffness(row.K)}}
		h := highest(t, k)
		assert.InDelta(t, row.Speed, float64(h.Expected.Speed), 2e-6, "%+v", row)
		assert.Nil(t, h.Upper)
		assert.Equal(t, plan.FromNobody, h.Basis)
	}
}

// At the highest speed the bound is within the limit and a little faster it is
// not, for each kind of evidence; and the bound never allows more than the
// expected peak.
func TestHighestSpeedIsWhereTheForecastTurns(t *testing.T) {
	t.Parallel()
	for name, with := range map[string]shock.Kept{"speed": kept(logged(4, 20, 6, true)), "class": kept(logged(4, 30, 6, false))} {
		k := pulled(35e3, with)
		f := forecast(t, k)
		h, err := f.Highest()
		require.NoError(t, err)
		require.NotNil(t, h.Upper, name)
		assert.Less(t, h.Upper.Speed, h.Expected.Speed, name)
		at := func(v unit.Speed) plan.Forecast {
			k.Plan.Speed = v
			return forecast(t, k)
		}
		if name == "speed" {
			assert.Equal(t, plan.FromFit, h.Basis)
			assert.Equal(t, rating.Inside, at(h.Upper.Speed).Outlook.Result.AtHigh)
			assert.Equal(t, rating.Over, at(h.Upper.Speed*1.001).Outlook.Result.AtHigh)
			assert.Equal(t, rating.Inside, at(h.Expected.Speed).Outlook.Result.Verdict)
			assert.Equal(t, rating.Over, at(h.Expected.Speed*1.001).Outlook.Result.Verdict)
			continue
		}
		assert.Equal(t, plan.FromClass, h.Basis)
		m, _ := with.Multiplier(shock.Class{Kind: pull.Kinetic, Ground: "mud", Strap: "kinetic rope"})
		assert.InEpsilon(t, 35e3, float64(at(h.Upper.Speed).Outcome.Peak)*m.Upper / *m.Median, 1e-5)
		assert.InEpsilon(t, 35e3, float64(at(h.Expected.Speed).Outcome.Peak), 1e-5)
	}
}

// Where the model with what was entered is harder than the bound of the fit, the
// highest speed is by the model.
func TestHighestSpeedIsNeverFasterThanTheModelAllows(t *testing.T) {
	t.Parallel()
	k := pulled(35e3, kept(logged(4, 20, 6, true)))
	k.Plan.Strap.Stiffness = 200e3
	h := highest(t, k)
	require.Equal(t, plan.FromFit, h.Basis)
	k.With = shock.RuleOfThumb()
	model := highest(t, k)
	assert.Equal(t, model.Expected.Speed, h.Upper.Speed)
	assert.Less(t, h.Upper.Speed, h.Expected.Speed)
}

func TestHighestSpeedSaysWhatItCannot(t *testing.T) {
	t.Parallel()
	k := pulled(35e3, shock.RuleOfThumb())
	k.Plan.Drive = 20e3 // twice that from standstill on a line without loss, if it held
	k.Plan.Fixed = true
	h := highest(t, k)
	assert.True(t, h.Expected.Already)
	assert.Contains(t, h.Text[0], "above the limit of red rope, 35 kN on the line, even from standstill")
	assert.Nil(t, h.Record().Expected)

	k = pulled(89e4, shock.RuleOfThumb())
	k.Rig.Chain[0].Item.Ratings = []gear.Rating{wll(89e4)}
	h = highest(t, k)
	assert.True(t, h.Expected.Never)
	assert.Contains(t, h.Text[0], "up to 40 km/h; no limit was found up to there")
	assert.Contains(t, h.Text[2], "By the assumption alone the peak is 82.4 kN at any speed, which is within the first limit.")

	k = pulled(10e3, shock.RuleOfThumb())
	h = highest(t, k)
	assert.Contains(t, h.Text[0], "below walking pace")
	assert.Contains(t, h.Text[2], "is above the first limit")

	k.Rig.Chain = append(k.Rig.Chain, inLine(use("ring", gear.Ring)), inLine(use("eye", gear.TowEye)))
	h = highest(t, k)
	assert.Equal(t, "No speed keeps every item inside its rating: eye is not rated for this use.", h.Text[0])
	assert.Equal(t, "Left out, because no limit of any kind is known: ring.", h.Text[len(h.Text)-1])
	assert.Nil(t, h.Record().Expected)
	assert.NotNil(t, h.Record().Detail.Expected)

	k.Rig.Chain = []rig.Link{inLine(use("ring", gear.Ring))}
	h = highest(t, k)
	assert.Equal(t, []string{"It cannot be judged: no limit is known of ring."}, h.Text)
	assert.Nil(t, h.Record().Detail.Force)

	// Through slack the puller is slowed down: from standstill it never comes to
	// a pull.
	k = pulled(35e3, kept(logged(4, 20, 6, true)))
	k.Plan.Slack, k.Plan.Rolling = 2, 1000
	h = highest(t, k)
	assert.Greater(t, h.Upper.Speed, unit.Speed(1))
	assert.Contains(t, h.Text[2], "the bound is never below the model")
}

// More limit allows more speed, more mass less; and twice of everything that
// has the dimension of a mass or a force changes nothing.
func TestHighestSpeedProperties(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
		limit, m1, m2 := draw("limit", 15e3, 60e3), draw("puller", 1500, 5000), draw("stuck", 1500, 5000)
		k0, hold := draw("stiffness", 20e3, 100e3), draw("hold", 0, 50e3)
		times := draw("times", 0.1, 10)
		at := func(scale, limit, m1 float64, u unit.ForceUnit) unit.Speed {
			k := pulled(90e3, shock.RuleOfThumb())
			k.Rig.Chain[0].Item.Ratings = []gear.Rating{wll(scale * limit)}
			k.Unit = u
			k.Plan = kinetic.Plan{
				Puller: unit.Mass(scale * m1), Stuck: unit.Mass(scale * m2), Speed: 1, Resistance: unit.Force(scale * hold),
				Strap: kinetic.Strap{Stiffness: unit.Stiffness(scale * k0)},
			}
			return highest(t, k).Expected.Speed
		}
		v := at(1, limit, m1, unit.Kilonewton)
		assert.Equal(t, v, at(1, limit, m1, unit.PoundF))
		assert.InDelta(t, float64(v), float64(at(times, limit, m1, "")), 3e-6)
		assert.GreaterOrEqual(t, at(1, limit*1.1, m1, ""), v)
		assert.LessOrEqual(t, at(1, limit, m1*1.1, ""), v+2e-6)
	})
}

// The planning peak rises with speed, and is never below the model.
func TestPlanningPeakRisesWithSpeed(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		with shock.Kept
		step unit.Speed // fits by speed take a moment
	}{{kept(logged(5, 20, 6, true)), 2}, {kept(logged(5, 30, 6, false)), 0.5}, {shock.RuleOfThumb(), 0.5}} {
		last := unit.Force(0)
		for v := unit.Speed(0.5); v < 8; v += c.step {
			k := pulled(35e3, c.with)
			k.Plan.Speed = v
			f := forecast(t, k)
			assert.GreaterOrEqual(t, f.Planning, last)
			assert.GreaterOrEqual(t, f.Planning, f.Outcome.Peak)
			assert.LessOrEqual(t, f.Expected, f.Planning)
			last = f.Planning
		}
	}
}
