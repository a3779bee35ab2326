package rating_test

import (
	"encoding/json"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/analysis/pull"
	"tautlog/analysis/rating"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
)

// rules gives the mismatches of a rig by their rule; the last of each.
func rules(r rig.Rig, kind pull.Kind, today string) map[rating.MismatchRule]rating.Mismatch {
	out := map[rating.MismatchRule]rating.Mismatch{}
	for _, m := range rating.Mismatches(r, kind, today, unit.TonneF) {
		out[m.Rule] = m
	}
	return out
}

func mbs(v unit.Force) gear.Rating { return gear.Rating{Value: v, Basis: gear.MBS} }

// weighing gives both ends a GVM in kilograms.
func weighing(r rig.Rig, pulling, stuck unit.Mass) rig.Rig {
	r.Pulling.GVM, r.Stuck.GVM = &pulling, &stuck
	return r
}

// The recommendation of the Australian consumer safety standard for recovery
// straps (2017): strength 2 to 3 times the GVM of the lighter vehicle. The
// file says where each value was read.
func TestAStrapOutsideTwoToThreeTimesTheLighterVehicle(t *testing.T) {
	t.Parallel()
	b, err := os.ReadFile("testdata/strap_standard_au.json")
	require.NoError(t, err)
	var doc struct {
		Ratio  [2]float64 `json:"mbs_over_gvm"`
		Worked struct {
			GVM float64    `json:"gvm_kg"`
			MBS [2]float64 `json:"mbs_kg_range"`
		} `json:"worked"`
	}
	require.NoError(t, json.Unmarshal(b, &doc))
	check := func(kg float64, k gear.Kind) map[rating.MismatchRule]rating.Mismatch {
		return rules(weighing(of(gearOf("strap", k, mbs(unit.Mass(kg).Weight()))), 4400, unit.Mass(doc.Worked.GVM)), "", "")
	}
	for i, edge := range doc.Worked.MBS {
		assert.InDelta(t, doc.Ratio[i]*doc.Worked.GVM, edge, 1e-9)
		assert.NotContains(t, check(edge, gear.RecoveryStrap), rating.StrapRatio, "the edge itself is within")
		m, ok := check(edge+float64(2*i-1)*10, gear.KineticRope)[rating.StrapRatio]
		require.True(t, ok, "%v kg", edge)
		assert.Equal(t, rating.SettleFirst, m.Severity)
		assert.Contains(t, m.Source, "F2017L01560")
		assert.Contains(t, m.Text, "times the GVM of the lighter vehicle, Otter; 2 to 3 times is recommended.")
	}
	assert.NotContains(t, check(30000, gear.TowStrap), rating.StrapRatio, "the standard is not of towing straps")
	assert.Contains(t, check(11000, gear.RecoveryStrap)[rating.StrapRatio].Text, "is 3.7 times")

	unknown := of(gearOf("strap", gear.RecoveryStrap))
	m := rules(unknown, pull.Kinetic, "")[rating.StrapRatio]
	assert.Equal(t, rating.ToKnow, m.Severity, "unknown is no fault, and no clearance")
	assert.Equal(t, "Whether strap suits the lighter vehicle cannot be told: not recorded is its breaking strength, the GVM of Heron, the GVM of Otter.", m.Text)
}

func TestAStrapStrongerThanWhatItPullsOn(t *testing.T) {
	t.Parallel()
	strap := gearOf("strap", gear.RecoveryStrap, mbs(8*tonne))
	find := func(uses ...rig.Use) rating.Mismatch { return rules(of(uses...), "", "")[rating.StrapStronger] }
	m := find(strap, at(gearOf("point", gear.RecoveryPoint, mbs(7*tonne)), 0))
	assert.Equal(t, rating.SettleFirst, m.Severity)
	assert.Equal(t, "At its breaking strength, 8 t, strap puts 8 t on point, which breaks at 7 t: it would go before the strap.", m.Text)
	assert.Equal(t, []string{"2", "3"}, m.Refs)
	assert.Empty(t, find(strap, at(gearOf("point", gear.RecoveryPoint, mbs(8*tonne), wll(3*tonne)), 0)).Rule, "no stronger; and what breaks it is known")

	m = find(strap, at(gearOf("point", gear.RecoveryPoint, wll(5*tonne)), 0))
	assert.Equal(t, rating.ToKnow, m.Severity, "a WLL says nothing of what breaks it: unlike bases")
	assert.Contains(t, m.Text, "8 t on point (5 t, WLL). When these break is not known")

	weak := bolted()
	weak.Bolts[0].Count = 2
	m = find(strap, at(gearOf("point", gear.RecoveryPoint, mbs(20*tonne)), 0), rig.Use{Item: gear.Item{Name: "bracket", Kind: gear.Mounting, Fixing: weak}})
	assert.Contains(t, m.Text, "on bracket (6.6 t, indicative estimate)")

	r := bridled(60, true, mbs(5*tonne))
	r.Chain = append(r.Chain[:1:1], rig.Link{Use: &strap}, r.Chain[1])
	assert.Empty(t, rules(r, "", "")[rating.StrapStronger].Rule, "each point carries 4.62 of 8 t")
	r.Chain[2].Bridle.Equaliser = false
	assert.Contains(t, rules(r, "", "")[rating.StrapStronger].Text, "puts 8 t on right point", "or all of it")
}

// NZ strap guide; US state off-road course.
func TestATowStrapIsFoundBeforeTheKineticPull(t *testing.T) {
	t.Parallel()
	r := of(gearOf("yellow strap", gear.TowStrap, mbs(8*tonne)))
	m := rules(r, pull.Kinetic, "")[rating.KineticMisuse]
	assert.Equal(t, rating.DoNotPull, m.Severity)
	assert.Equal(t, "yellow strap is a tow strap and hardly stretches: in a kinetic pull the load comes as a jerk.", m.Text)
	assert.NotContains(t, rules(r, pull.Steady, ""), rating.KineticMisuse)
}

// Common practice, from memory: straps are joined without metal between them.
func TestAMetalShackleJoiningStraps(t *testing.T) {
	t.Parallel()
	strap, tow := gearOf("strap", gear.RecoveryStrap), gearOf("tow strap", gear.TowStrap)
	bow, ring := gearOf("bow", gear.BowShackle), gearOf("soft shackle", gear.SoftShackle)
	point := gearOf("point", gear.RecoveryPoint)
	has := func(r rig.Rig) bool { _, ok := rules(r, "", "")[rating.MetalJoin]; return ok }
	assert.True(t, has(of(strap, bow, tow)))
	assert.True(t, has(of(point, bow, strap, gearOf("hook", gear.Hook), tow)))
	assert.False(t, has(of(strap, ring, tow)), "a soft shackle is no metal")
	assert.False(t, has(of(point, bow, strap, bow, point)), "at its ends a shackle is where it belongs")
	assert.Equal(t, []string{"2", "3", "4"}, rules(of(strap, bow, tow), "", "")[rating.MetalJoin].Refs)

	br := gearOf("bridle", gear.Bridle)
	link := rig.Link{Bridle: &rig.Bridle{Included: unit.Degrees(60), Strap: &br, Left: []rig.Use{bow, point}, Right: []rig.Use{bow, point}}}
	stuck := of(strap, bow)
	stuck.Chain = append(stuck.Chain, link)
	assert.True(t, has(stuck), "strap, shackle, bridle")
	assert.Len(t, only(stuck, rating.MetalJoin), 1, "told once, though two legs lead there")
	pulling := of(bow, strap)
	pulling.Chain = append([]rig.Link{link}, pulling.Chain[1:]...)
	assert.True(t, has(pulling), "bridle, shackle, strap")
	link.Bridle.Strap = nil
	assert.False(t, has(stuck))

	block := of(strap)
	block.Chain = append(block.Chain, rig.Link{Redirect: &rig.Redirect{Included: unit.Degrees(90), Block: []rig.Use{gearOf("block", gear.Block), bow, gearOf("tree strap", gear.TreeStrap)}}}, rig.Link{Use: &tow})
	assert.False(t, has(block), "a line that runs over a block is not joined to what holds it")
}

func only(r rig.Rig, rule rating.MismatchRule) []rating.Mismatch {
	var out []rating.Mismatch
	for _, m := range rating.Mismatches(r, "", "", "") {
		if m.Rule == rule {
			out = append(out, m)
		}
	}
	return out
}

func TestAPairOnlyPointUsedAloneIsFoundBeforeThePull(t *testing.T) {
	t.Parallel()
	pair := gear.Rating{Value: 8 * tonne, Basis: gear.WLL, Together: gear.Pair}
	m := rules(of(gearOf("left point", gear.RecoveryPoint, pair)), "", "")[rating.PairAlone]
	assert.Equal(t, rating.DoNotPull, m.Severity)
	assert.Equal(t, "left point is rated only as one of a pair through a bridle, and used alone.", m.Text)
	assert.NotContains(t, rules(of(gearOf("point", gear.RecoveryPoint, pair, wll(3*tonne))), "", ""), rating.PairAlone)
	assert.NotContains(t, rules(bridled(60, true, pair), "", ""), rating.PairAlone)
	assert.Equal(t, rating.SettleFirst, rules(bridled(60, false, pair), "", "")[rating.PairAlone].Severity)
}

// Mandatory warning of the Australian standard (2017).
func TestATieDownIsFoundBeforeThePull(t *testing.T) {
	t.Parallel()
	for _, k := range []gear.Kind{gear.TieDown, gear.TowEye, gear.TowBall} {
		assert.Equal(t, rating.DoNotPull, rules(of(gearOf("eye", k, wll(20*tonne))), "", "")[rating.NoPoint].Severity, k)
	}
}

// lived is a rig with one ring of this life.
func lived(made string, l gear.Life) rig.Rig {
	ring := gearOf("ring", gear.Ring)
	ring.Item.Made, ring.Item.Life = made, l
	return of(ring)
}

func TestInspectionsAndService(t *testing.T) {
	t.Parallel()
	half, six := 6, 6.0
	seen := func(f gear.Finding) gear.Life {
		return gear.Life{InspectEvery: &half, Inspections: []gear.Inspection{{Date: "2026-03-14", Result: f, Notes: "worn"}}}
	}
	overdue := rules(lived("", seen(gear.InOrder)), "", "2026-11-25")[rating.InspectionDue]
	assert.Equal(t, rating.SettleFirst, overdue.Severity)
	assert.Equal(t, "ring: last inspected 14 March 2026; the next inspection was due by 14 September 2026.", overdue.Text)
	assert.Empty(t, rules(lived("", seen(gear.InOrder)), "", "2026-09-14"))
	assert.Empty(t, rules(lived("", seen(gear.InOrder)), "", ""), "without a day nothing is overdue")
	assert.Contains(t, rules(lived("", gear.Life{InspectEvery: &half}), "", "2026-11-25")[rating.InspectionDue].Text, "no inspection is recorded")

	assert.Equal(t, rating.DoNotPull, rules(lived("", seen(gear.Unfit)), "", "")[rating.InspectionSays].Severity)
	watch := rules(lived("", seen(gear.Watch)), "", "")[rating.InspectionSays]
	assert.Equal(t, rating.ToKnow, watch.Severity)
	assert.Equal(t, "The last inspection of ring, 14 March 2026, left something to watch: worn.", watch.Text)

	for _, l := range []gear.Life{{Retired: &gear.Withdrawal{Reason: "cut", Date: "2026"}}, {Quarantined: &gear.Withdrawal{Reason: "cut", Date: "2026"}}} {
		m := rules(lived("", l), "", "")[rating.OutOfService]
		assert.Equal(t, rating.DoNotPull, m.Severity)
		assert.Contains(t, m.Text, "2026")
		assert.Contains(t, m.Text, ": cut.")
	}
	old := rules(lived("2020", gear.Life{RetireRule: &gear.RetireRule{MaxAge: &six}}), "", "2026-11-25")[rating.PastRule]
	assert.Equal(t, rating.DoNotPull, old.Severity)
	assert.Equal(t, "ring is past its time. It is up to 6.9 years (made 2020) old; the owner retires it after 6 years.", old.Text)
	assert.Empty(t, rules(lived("2020", gear.Life{RetireRule: &gear.RetireRule{MaxAge: &six}}), "", "2025-11-25"))
}

// What an item has been through counts against the owner's rule on pulls and
// peaks where it is known, and is no reason where it is not.
func TestAnItemPastARuleOnPullsIsFoundBeforeThePull(t *testing.T) {
	t.Parallel()
	two, half := 2, 0.5
	u := gearOf("ring", gear.Ring, gear.Rating{Value: 100e3, Basis: gear.MBS})
	u.Item.RetireRule = &gear.RetireRule{MaxPulls: &two, MaxPeak: &half}
	texts := func(used gear.Used) (out []string) {
		for _, m := range rating.MismatchesUsed(of(u), pull.Steady, "2026-03-14", unit.Kilonewton, func(it gear.Item) gear.Used {
			return map[string]gear.Used{"ring": used}[it.Name]
		}) {
			if m.Rule == rating.PastRule {
				assert.Equal(t, rating.DoNotPull, m.Severity)
				out = append(out, m.Text)
			}
		}
		return out
	}
	assert.Empty(t, texts(gear.Used{}))
	assert.Empty(t, texts(gear.Used{Pulls: 2, Peak: 50e3}), "just at its limits")
	assert.Equal(t, []string{
		"ring is past its time. It carried 3 pulls; the owner retires it after 2.",
		"ring is past its time. It carried 51 kN, 51 % of its breaking strength; the owner retires it after more than 50 %.",
	}, texts(gear.Used{Pulls: 3, Peak: 51e3}))
}

func TestAMountingThatStayedBent(t *testing.T) {
	t.Parallel()
	m := rules(of(held(&gear.Fixing{Proofs: []gear.ProofPull{{Level: 4 * tonne, Set: length(2), Date: "2026-04-18"}}})), "", "")[rating.MountingBent]
	assert.Equal(t, rating.DoNotPull, m.Severity)
	assert.Equal(t, "mounting of point stayed bent after a proof pull to 4 t on 18 April 2026: an engineer has to see it first.", m.Text)
	assert.Equal(t, []string{"2.mounting"}, m.Refs)
}

func TestMismatchesAreHeaviestFirstAndPermitNothing(t *testing.T) {
	t.Parallel()
	six := 6
	ring := gearOf("ring", gear.Ring)
	ring.Item.InspectEvery = &six
	r := of(gearOf("strap", gear.RecoveryStrap), ring, gearOf("tow strap", gear.TowStrap), gearOf("eye", gear.TieDown))
	ms := rating.Mismatches(r, pull.Kinetic, "2026-11-25", "")
	require.Len(t, ms, 4)
	last := rating.DoNotPull
	order := map[rating.Severity]int{}
	for i, s := range rating.Severities() {
		order[s] = i
	}
	for _, m := range ms {
		assert.LessOrEqual(t, order[m.Severity], order[last])
		last = m.Severity
		assert.NotEmpty(t, m.Source)
		assert.NotEmpty(t, m.Refs)
		assert.NotContains(t, strings.ToLower(m.Text), "safe")
	}
	assert.Nil(t, rating.Mismatches(rig.Rig{}, "", "", ""), "what cannot be solved gives none: Validate says why")
}

// What no verdict says is said in the remarks of a result, whatever page shows
// it.
func TestRemarksSayWhatNoVerdictSays(t *testing.T) {
	t.Parallel()
	r := weighing(of(gearOf("strap", gear.RecoveryStrap, mbs(5*tonne))), 3000, 3000)
	res := judge(t, rating.Peak{Value: tonne}, r)
	assert.Contains(t, res.Remarks[0], "is 1.7 times the GVM of the lighter vehicle")
	quiet := judge(t, rating.Peak{Value: tonne}, of(gearOf("eye", gear.TieDown)))
	for _, remark := range quiet.Remarks {
		assert.NotContains(t, remark, "eye", "the verdict says it")
	}
}

// The unit changes no finding, and a heavier vehicle or stronger point never
// adds one about the strap's strength over the point.
func TestMismatchProperties(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		ton := func(name string) unit.Force { return unit.Force(rapid.Float64Range(1, 20).Draw(t, name)) * tonne }
		strength := ton("point")
		rigAt := func(point unit.Force) rig.Rig {
			return weighing(of(gearOf("strap", gear.RecoveryStrap, mbs(8*tonne)), gearOf("point", gear.RecoveryPoint, mbs(point))), 3000, 2500)
		}
		a := rating.Mismatches(rigAt(strength), pull.Kinetic, "2026", unit.Kilonewton)
		b := rating.Mismatches(rigAt(strength), pull.Kinetic, "2026", unit.PoundF)
		require.Len(t, b, len(a))
		for i := range a {
			assert.Equal(t, a[i].Rule, b[i].Rule)
			assert.Equal(t, a[i].Severity, b[i].Severity)
		}
		assert.LessOrEqual(t, len(rating.Mismatches(rigAt(strength*2), pull.Kinetic, "2026", "")), len(a))
	})
}
