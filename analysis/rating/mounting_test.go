package rating_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/analysis/rating"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
)

func length(mm float64) *unit.Length { l := unit.Length(mm / 1000); return &l }

// bolted is a mounting by four M12 8.8 bolts across the pull: 4 · 32.4 kN in
// shear by EN 1993-1-8 (its digests' worked bolt), 129.5 kN.
func bolted() *gear.Fixing {
	return &gear.Fixing{Bolts: []gear.Bolts{{Count: 4, Size: "M12", Class: "8.8", Axis: gear.Across, Plane: gear.ThroughTurns, Lever: length(0)}}}
}

// held is a point of 5 t straight ahead with this mounting recorded with it.
func held(f *gear.Fixing) rig.Use {
	u := at(gearOf("point", gear.RecoveryPoint, wll(20*tonne)), 0)
	u.Item.Fixing = f
	return u
}

// mountingAt judges the mounting of a point at an exact peak.
func mountingAt(t require.TestingT, peak unit.Force, f *gear.Fixing) rating.Item {
	return item(t, judge(t, rating.Peak{Value: peak, Low: peak, High: peak}, of(held(f))), "mounting of point")
}

func TestAMountingIsAnItemOfItsOwn(t *testing.T) {
	t.Parallel()
	res := judge(t, rating.Peak{Value: 3 * tonne}, of(held(&gear.Fixing{})))
	assert.Equal(t, rating.Inside, item(t, res, "point").Verdict)
	m := item(t, res, "mounting of point")
	assert.Equal(t, "2.mounting", m.Ref)
	assert.Equal(t, gear.Mounting, m.Kind)
	assert.Equal(t, rating.NotJudged, m.Verdict)
	assert.Equal(t, rating.NotJudged, res.Verdict, "a chain is only as strong as the mounting")
	assert.Equal(t, "It carried 3 t; no rating of it is known. Too little is recorded for an estimate: no bolts are recorded.", m.Reason)
	assert.NotContains(t, res.Remarks[0], "What holds point is not in the rig")
}

func TestAnEstimateClearsNoMountingAndCanSpeakAgainstOne(t *testing.T) {
	t.Parallel()
	limit := 4 * 32371.2 * unit.Force(84.267/84.3)
	m := mountingAt(t, 0.01*limit, bolted())
	assert.Equal(t, rating.NotJudged, m.Verdict, "however small the load")
	assert.Equal(t, rating.OnEstimate, m.Mounting.Stands)
	assert.False(t, m.Limit.Working)
	assert.InEpsilon(t, float64(limit), float64(m.Limit.Value), 1e-4)
	assert.Contains(t, m.Reason, "indicative estimate")
	assert.Contains(t, m.Reason, "ask an engineer")
	assert.Equal(t, rating.Over, mountingAt(t, 1.01*limit, bolted()).Verdict)
}

func TestTheMakersWordLetsThePointsRatingStand(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		engineered, tested gear.Answer
		want               rating.Verdict
	}{
		{gear.Yes, gear.Yes, rating.Inside},
		{gear.Yes, gear.NotKnown, rating.NotJudged},
		{gear.Yes, gear.No, rating.NotJudged},
		{gear.NotKnown, gear.Yes, rating.NotJudged},
		{gear.No, gear.No, rating.NotJudged},
	} {
		m := mountingAt(t, 3*tonne, &gear.Fixing{Engineered: c.engineered, Tested: c.tested})
		assert.Equal(t, c.want, m.Verdict, "engineered %s, tested %s", c.engineered, c.tested)
	}
	word := &gear.Fixing{Engineered: gear.Yes, Tested: gear.Yes}
	assert.Equal(t, rating.Over, mountingAt(t, 21*tonne, word).Verdict)
	assert.Contains(t, mountingAt(t, 3*tonne, word).Reason, "The rating of point stands for its mounting")

	eye := held(word)
	eye.Item.Kind = gear.TieDown
	m := item(t, judge(t, rating.Peak{Value: 0.1 * tonne}, of(eye)), "mounting of point")
	assert.Equal(t, rating.NotJudged, m.Verdict, "no word makes a recovery point of a tie-down")
}

func TestARatingOfTheMountingItselfCounts(t *testing.T) {
	t.Parallel()
	mount := gearOf("bracket", gear.Mounting, wll(4*tonne))
	mount.Item.Fixing = bolted()
	res := judge(t, rating.Peak{Value: 3 * tonne}, of(at(gearOf("point", gear.RecoveryPoint, wll(5*tonne)), 0), mount))
	m := item(t, res, "bracket")
	assert.Equal(t, rating.Inside, m.Verdict)
	assert.Equal(t, rating.OnRating, m.Mounting.Stands)
	assert.Contains(t, m.Reason, "Its own rating is what counts; an indicative estimate of its bolts and plate gives 13.2 t (shear of the bolts).")
	assert.Equal(t, "point", m.Mounting.Holds)
}

func TestProofPullsAreEvidenceUpToTheirLevel(t *testing.T) {
	t.Parallel()
	proof := &gear.Fixing{Proofs: []gear.ProofPull{{Level: 4 * tonne, Set: length(0), Date: "2026-04-18"}}}
	m := mountingAt(t, 3*tonne, proof)
	assert.Equal(t, rating.NotJudged, m.Verdict, "a proof pull is no working limit")
	assert.Contains(t, m.Reason, "It was proof pulled to 4 t on 18 April 2026 and did not stay bent: evidence up to there and in that direction, no working limit.")
	assert.Equal(t, rating.NotJudged, mountingAt(t, 5*tonne, proof).Verdict, "beyond what was proved nothing is known")

	proof.Proofs = append(proof.Proofs, gear.ProofPull{Level: 6 * tonne, Set: length(2)})
	proof.Engineered, proof.Tested = gear.Yes, gear.Yes
	assert.Equal(t, rating.Inside, mountingAt(t, 5*tonne, proof).Verdict)
	m = mountingAt(t, 7*tonne, proof)
	assert.Equal(t, rating.Over, m.Verdict, "it bent at less, whatever the maker said")
	assert.Contains(t, m.Reason, "A proof pull to 6 t left it bent by 2 mm")
}

func TestAMountingLiesAsItsPointDoes(t *testing.T) {
	t.Parallel()
	point := at(gearOf("point", gear.RecoveryPoint, wll(20*tonne)), 90)
	mount := gearOf("bracket", gear.Mounting)
	mount.Item.Fixing = bolted()
	m := item(t, judge(t, rating.Peak{Value: 3 * tonne}, of(point, mount)), "bracket")
	assert.Equal(t, "tension in the bolts", m.Mounting.Estimate.By, "pulled to the side, along its bolts")
}

// Whatever is recorded of a mounting: without a rating or its maker's word it
// is never inside rating, more force is never a better verdict, and the unit
// changes none.
func TestNoEstimateIsEverAllClear(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		f := bolted()
		f.Bolts[0].Count = rapid.IntRange(0, 40).Draw(t, "bolts")
		f.Bolts[0].Axis = rapid.SampledFrom([]gear.Axis{gear.Along, gear.Across, gear.Upright, gear.AxisUnknown}).Draw(t, "axis")
		f.Engineered = rapid.SampledFrom([]gear.Answer{gear.Yes, gear.No, gear.NotKnown}).Draw(t, "engineered")
		if rapid.Bool().Draw(t, "proved") {
			f.Proofs = []gear.ProofPull{{Level: unit.Force(rapid.Float64Range(1, 200e3).Draw(t, "level")), Set: length(rapid.Float64Range(0, 1).Draw(t, "set"))}}
		}
		small := unit.Force(rapid.Float64Range(1, 300e3).Draw(t, "peak"))
		a, b := mountingAt(t, small, f), mountingAt(t, small*1.5, f)
		assert.NotEqual(t, rating.Inside, a.Verdict)
		assert.False(t, a.Verdict.Worse(b.Verdict), "%s at less, %s at more", a.Verdict, b.Verdict)
		res, err := rating.Judge(rating.Peak{Value: small}, of(held(f)), unit.PoundF)
		require.NoError(t, err)
		assert.Equal(t, a.Verdict, item(t, res, "mounting of point").Verdict)
	})
}

func TestABoundShackleIsSideLoaded(t *testing.T) {
	t.Parallel()
	shackle := gearOf("shackle", gear.BowShackle, wll(10*tonne))
	point := at(gearOf("point", gear.RecoveryPoint, wll(20*tonne)), 30)
	verdict := func(seat rig.Seat, p rig.Use, peak unit.Force) rating.Item {
		s := shackle
		s.Seat = seat
		return item(t, judge(t, rating.Peak{Value: peak}, of(s, p)), "shackle")
	}
	assert.Equal(t, rating.Inside, verdict(rig.FreeSeat, point, 9*tonne).Verdict, "free, it turns into the line")
	assert.Equal(t, rating.Over, verdict(rig.BoundSeat, point, 9*tonne).Verdict, "bound, it is loaded at 30° as its point is")
	assert.Equal(t, rating.Inside, verdict(rig.BoundSeat, point, 6.9*tonne).Verdict, "70 % at 45° and less, a published step")
	point.OffAxis = nil
	it := verdict(rig.BoundSeat, point, 1*tonne)
	assert.Equal(t, rating.NotJudged, it.Verdict, "bound at an angle that nobody recorded")
	assert.Contains(t, it.Reason, "bound in its slot and the angle of the line at it was not recorded")
}
