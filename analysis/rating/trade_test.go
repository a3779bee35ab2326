package rating_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/analysis/rating"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
)

// Facts of the trade. Common practice, no source, unless one is named.

const tonne = unit.TonneForce

func deg(d float64) *unit.Angle { a := unit.Degrees(d); return &a }

func factor(v float64) *float64 { return &v }

// gearOf is an item with these ratings.
func gearOf(name string, k gear.Kind, rs ...gear.Rating) rig.Use {
	return rig.Use{Item: gear.Item{Name: name, Kind: k, Ratings: rs}}
}

func wll(v unit.Force) gear.Rating { return gear.Rating{Value: v, Basis: gear.WLL} }

func at(u rig.Use, d float64) rig.Use {
	u.OffAxis = &rig.OffAxis{Horizontal: deg(d)}
	return u
}

// of is a rig of the cell and these items, all in line.
func of(uses ...rig.Use) rig.Rig {
	r := rig.Rig{Name: "r", Pulling: gear.Vehicle{Name: "Heron"}, Stuck: gear.Vehicle{Name: "Otter"},
		Chain: []rig.Link{rig.InLine(gear.Item{Name: "cell", Kind: gear.LoadCell, Ratings: []gear.Rating{wll(100 * tonne)}})}}
	for _, u := range uses {
		r.Chain = append(r.Chain, rig.Link{Use: &u})
	}
	return r
}

func judge(t require.TestingT, p rating.Peak, r rig.Rig) rating.Result {
	res, err := rating.Judge(p, r, unit.TonneF)
	require.NoError(t, err)
	return res
}

// item finds an item of a result by its name.
func item(t require.TestingT, res rating.Result, name string) rating.Item {
	for _, it := range res.Items {
		if it.Name == name {
			return it
		}
	}
	require.FailNow(t, "no item "+name)
	return rating.Item{}
}

// one judges a single item at an exact peak.
func one(t require.TestingT, peak unit.Force, u rig.Use) rating.Item {
	return item(t, judge(t, rating.Peak{Value: peak, Low: peak, High: peak}, of(u)), u.Item.Name)
}

// Australian consumer safety standard for recovery straps (2017), mandatory
// warning; coroner's finding, Tasmania 2009.
func TestATieDownIsNoRecoveryPointWhateverIsStampedOnIt(t *testing.T) {
	t.Parallel()
	for _, k := range []gear.Kind{gear.TieDown, gear.TowEye, gear.TowBall} {
		it := one(t, 0.1*tonne, gearOf("front eye", k, wll(20*tonne)))
		assert.Equal(t, rating.NotRated, it.Verdict, k)
		assert.Equal(t, "A "+string(k)+" is not a recovery point, whatever is stamped on it. It carried 0.1 t.", it.Reason)
	}
}

// Common practice, no source.
func TestAPairRatedTogetherHasNoRatingAlone(t *testing.T) {
	t.Parallel()
	pair := gear.Rating{Value: 8 * tonne, Basis: gear.WLL, Together: gear.Pair}
	it := one(t, 1*tonne, gearOf("left point", gear.RecoveryPoint, pair))
	assert.Equal(t, rating.NotRated, it.Verdict)
	assert.Contains(t, it.Reason, "Rated only as a pair, and used alone.")
	assert.Nil(t, it.Limit)
}

// bridled is a rig with a bridle at Otter whose points have these ratings.
func bridled(included float64, equaliser bool, rs ...gear.Rating) rig.Rig {
	r := of()
	point := func(name string) []rig.Use { return []rig.Use{gearOf(name, gear.RecoveryPoint, rs...)} }
	r.Chain = append(r.Chain, rig.Link{Bridle: &rig.Bridle{Included: unit.Degrees(included), Equaliser: equaliser,
		OffAxis: &rig.OffAxis{Horizontal: deg(0)}, Left: point("left point"), Right: point("right point")}})
	return r
}

// Common practice, no source.
func TestAPairRatingIsForBothTogether(t *testing.T) {
	t.Parallel()
	pair := gear.Rating{Value: 8 * tonne, Basis: gear.WLL, Together: gear.Pair, Direction: gear.Straight()}
	r := bridled(60, true, pair)
	// Two legs at 30° to the line: 2 · F/(2 cos 30°) = 1.155 F on both together.
	it := item(t, judge(t, rating.Peak{Value: 6.9 * tonne}, r), "left point")
	assert.Equal(t, rating.Inside, it.Verdict)
	assert.InDelta(t, 6.9/0.8660254/8, *it.Utilisation, 1e-6)
	assert.Equal(t, rating.Over, item(t, judge(t, rating.Peak{Value: 7 * tonne}, r), "left point").Verdict)
	assert.Contains(t, it.Reason, "half the pair's WLL")
}

// Common practice, no source.
func TestAStraightLinePointIsNotRatedAtAnAngle(t *testing.T) {
	t.Parallel()
	straight := gear.Rating{Value: 5 * tonne, Basis: gear.WLL, Direction: gear.Straight()}
	point := gearOf("point", gear.RecoveryPoint, straight)
	assert.Equal(t, rating.Inside, one(t, 4*tonne, at(point, 0)).Verdict)
	it := one(t, 1*tonne, at(point, 30))
	assert.Equal(t, rating.NotRated, it.Verdict)
	assert.Equal(t, "Rated straight only and the line lay 30° off its axis. It carried 1 t.", it.Reason)
	assert.Equal(t, rating.NotJudged, one(t, 1*tonne, point).Verdict, "an angle that was not recorded is not zero")

	left := item(t, judge(t, rating.Peak{Value: 1 * tonne}, bridled(60, true, straight)), "left point")
	assert.Equal(t, rating.NotRated, left.Verdict, "a bridle of 60° pulls each point 30° off its axis")
}

// Common practice, no source.
func TestAPointRatedToTheFullTurnKeepsItsRatingThere(t *testing.T) {
	t.Parallel()
	point := gearOf("point", gear.RecoveryPoint, gear.Rating{Value: 5 * tonne, Basis: gear.WLL, Direction: gear.Direction{Rule: gear.FullTurn}})
	point.OffAxis = &rig.OffAxis{FullTurn: true}
	it := one(t, 4.9*tonne, point)
	assert.Equal(t, rating.Inside, it.Verdict)
	assert.InDelta(t, 0.98, *it.OfWLL, 1e-9)
	assert.Equal(t, rating.Over, one(t, 5.1*tonne, point).Verdict)
}

// Common practice, no source.
func TestAShackleAndAStrapAreOnDifferentBases(t *testing.T) {
	t.Parallel()
	shackle := gearOf("bow shackle", gear.BowShackle, wll(4.75*tonne))
	strap := gearOf("strap", gear.RecoveryStrap, gear.Rating{Value: 8 * tonne, Basis: gear.MBS})
	res := judge(t, rating.Peak{Value: 5 * tonne, Low: 5 * tonne, High: 5 * tonne}, of(shackle, strap))
	sh, st := item(t, res, "bow shackle"), item(t, res, "strap")
	assert.Equal(t, rating.Over, sh.Verdict, "5 t is over a WLL of 4.75 t")
	assert.InDelta(t, 5/4.75, *sh.OfWLL, 1e-9)
	assert.Nil(t, sh.OfMBS, "the shackle's breaking strength is not known, and is not made up")
	assert.Equal(t, rating.NotJudged, st.Verdict, "62.5 % of an MBS is not inside a rating: there is no working limit")
	assert.InDelta(t, 0.625, *st.OfMBS, 1e-9)
	assert.Nil(t, st.OfWLL)
	assert.False(t, st.Limit.Working)
	assert.Equal(t, "It carried 5 t, 62 % of its 8 t breaking strength; without a design factor it has no working limit.", st.Reason)
}

// Common practice, no source.
func TestADesignFactorIsNeverAssumed(t *testing.T) {
	t.Parallel()
	mbs := gear.Rating{Value: 8 * tonne, Basis: gear.MBS}
	assert.Equal(t, rating.NotJudged, one(t, 0.1*tonne, gearOf("strap", gear.RecoveryStrap, mbs)).Verdict)
	mbs.DesignFactor, mbs.FactorFrom = factor(2), gear.FactorOwner
	it := one(t, 3.9*tonne, gearOf("strap", gear.RecoveryStrap, mbs))
	assert.Equal(t, rating.Inside, it.Verdict)
	assert.Equal(t, "MBS over the owner's design factor 2", it.Limit.Text)
	assert.Equal(t, rating.Over, one(t, 4.1*tonne, gearOf("strap", gear.RecoveryStrap, mbs)).Verdict)
	assert.Equal(t, rating.OverBreaking, one(t, 8.1*tonne, gearOf("strap", gear.RecoveryStrap, mbs)).Verdict)
}

// Common practice, no source.
func TestAStampWithoutABasisIsALimitNeverToExceedAndNamedAsUnknown(t *testing.T) {
	t.Parallel()
	stamped := gearOf("ring", gear.Ring, gear.Rating{Value: 5 * tonne, Basis: gear.Unknown, Stamp: "5 T"})
	it := one(t, 5.1*tonne, stamped)
	assert.Equal(t, rating.Over, it.Verdict)
	assert.Contains(t, it.Reason, "basis unknown")
	it = one(t, 2*tonne, stamped)
	assert.Equal(t, rating.NotJudged, it.Verdict)
	assert.Equal(t, "It carried 2 t, 40 % of the 5 t stamped on it; the stamp does not say whether that is a WLL or a breaking strength.", it.Reason)
}

// Common practice, no source.
func TestAProofLoadIsNoWorkingLimit(t *testing.T) {
	t.Parallel()
	proofed := gearOf("point", gear.RecoveryPoint, gear.Rating{Value: 5 * tonne, Basis: gear.Proof})
	assert.Equal(t, rating.NotJudged, one(t, 2*tonne, proofed).Verdict)
	assert.Equal(t, rating.Over, one(t, 5.1*tonne, proofed).Verdict)
}

// A pull can reach two to three times the vehicle's GVM. Common practice, no
// source.
func TestAPointRatedAtTheGVMIsShort(t *testing.T) {
	t.Parallel()
	gvm := unit.Mass(3100).Weight()
	point := gearOf("point", gear.RecoveryPoint, wll(gvm))
	assert.Equal(t, rating.Over, one(t, 2*gvm, point).Verdict)
	assert.Equal(t, rating.Over, one(t, 3*gvm, point).Verdict)
}

// Shackles lose to 70 and 50 % in steps under side load (four makers' tables).
func TestASideLoadedShackleLosesInSteps(t *testing.T) {
	t.Parallel()
	shackle := gearOf("shackle", gear.BowShackle, wll(10*tonne))
	for angle, left := range map[float64]unit.Force{0: 10, 5: 10, 6: 7, 45: 7, 46: 5, 90: 5} {
		assert.Equal(t, rating.Inside, one(t, left*tonne*0.999, at(shackle, angle)).Verdict, "%v°", angle)
		assert.Equal(t, rating.Over, one(t, left*tonne*1.001, at(shackle, angle)).Verdict, "%v°", angle)
	}
	it := one(t, 1*tonne, at(shackle, 95))
	assert.Equal(t, rating.NotRated, it.Verdict)
	assert.Contains(t, one(t, 1*tonne, at(shackle, 30)).Reason, "70 % of its WLL, side loaded")
	res := judge(t, rating.Peak{Value: 6 * tonne, Low: 6 * tonne, High: 6 * tonne}, of(at(shackle, 30)))
	assert.Contains(t, res.Summary, "shackle, 86 % of its limit (70 % of its WLL, side loaded)")
}

// NZ strap guide: no tow strap for a snatch; US state off-road course: no
// chain, wire or winch either.
func TestATowStrapHasNoPlaceInAKineticPull(t *testing.T) {
	t.Parallel()
	for _, k := range []gear.Kind{gear.TowStrap, gear.Chain, gear.WinchRope, gear.Winch} {
		r := of(gearOf("line", k, wll(20*tonne), gear.Rating{Value: 40 * tonne, Basis: gear.MBS}))
		kinetic := rating.Peak{Value: 3 * tonne, Kind: pull.Kinetic}
		assert.Equal(t, rating.NotRated, item(t, judge(t, kinetic, r), "line").Verdict, k)
		steady := rating.Peak{Value: 3 * tonne, Kind: pull.Steady}
		assert.Equal(t, rating.Inside, item(t, judge(t, steady, r), "line").Verdict, k)
		kinetic.Value = 41 * tonne
		assert.Equal(t, rating.OverBreaking, item(t, judge(t, kinetic, r), "line").Verdict, k)
	}
	r := of(gearOf("rope", gear.KineticRope, wll(5*tonne)))
	assert.Equal(t, rating.Inside, judge(t, rating.Peak{Value: 3 * tonne, Kind: pull.Kinetic}, r).Verdict)
}

// Common practice, no source.
func TestWithoutAnEqualiserOneLegMayTakeAll(t *testing.T) {
	t.Parallel()
	r := bridled(60, false, gear.Rating{Value: 5 * tonne, Basis: gear.WLL, Direction: gear.Within(unit.Degrees(30))})
	it := item(t, judge(t, rating.Peak{Value: 6 * tonne, Low: 6 * tonne, High: 6 * tonne}, r), "left point")
	require.Len(t, it.Cases, 2)
	assert.Equal(t, rating.Inside, it.Cases[0].Verdict, "shared, 3.46 t")
	assert.InDelta(t, 6/(2*0.8660254), float64(it.Cases[0].Carried/tonne), 1e-6)
	assert.Equal(t, rating.Over, it.Cases[1].Verdict, "alone, 6 t")
	assert.Equal(t, rating.Over, it.Verdict)
	assert.Contains(t, it.Reason, "Over rating if the bridle did not equalise: it carried 6 t")
	assert.Contains(t, it.Reason, "If the legs shared, it was inside rating: it carried 3.46 t")

	shared := item(t, judge(t, rating.Peak{Value: 6 * tonne}, bridled(60, true, r.Chain[1].Bridle.Left[0].Item.Ratings...)), "left point")
	assert.Empty(t, shared.Cases)
	assert.Equal(t, rating.Inside, shared.Verdict)
}

// Common practice, no source.
func TestAPairWithoutAnEqualiserMayBeOneAlone(t *testing.T) {
	t.Parallel()
	r := bridled(60, false, gear.Rating{Value: 8 * tonne, Basis: gear.WLL, Together: gear.Pair})
	it := item(t, judge(t, rating.Peak{Value: 1 * tonne}, r), "left point")
	assert.Equal(t, rating.Inside, it.Cases[0].Verdict)
	assert.Equal(t, rating.NotRated, it.Cases[1].Verdict)
	assert.Equal(t, rating.NotRated, it.Verdict)
}

// Common practice, no source.
func TestACellInALegOfAFreeBridleTellsNothingOfTheOther(t *testing.T) {
	t.Parallel()
	r := bridled(60, false, gear.Rating{Value: 50 * tonne, Basis: gear.WLL, Direction: gear.Direction{Rule: gear.AnyDirection}})
	b := r.Chain[1].Bridle
	b.Left = append(b.Left, *r.Chain[0].Use)
	r.Chain = []rig.Link{rig.InLine(gear.Item{Name: "shackle", Kind: gear.BowShackle, Ratings: []gear.Rating{wll(50 * tonne)}}), r.Chain[1]}
	res := judge(t, rating.Peak{Value: 1 * tonne}, r)
	for _, name := range []string{"shackle", "right point"} {
		it := item(t, res, name)
		assert.Equal(t, rating.NotJudged, it.Verdict, name)
		assert.False(t, it.Known, name)
		assert.Contains(t, it.Reason, "its load is not known")
	}
	assert.Equal(t, rating.Inside, item(t, res, "left point").Verdict, "its own leg is what the cell reads")
}
