package gear_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/calc/gear"
	"tautlog/calc/unit"
)

func months(n int) *int { return &n }

func TestDates(t *testing.T) {
	t.Parallel()
	var d gear.Date
	for _, in := range []string{"2026-03-14", "2026-03", "2026", ""} {
		require.NoError(t, d.UnmarshalText([]byte(in)))
		assert.Equal(t, gear.Date(in), d)
	}
	for _, in := range []string{"14.3.2026", "2026-13", "2026-02-30", "today", "26"} {
		require.ErrorContains(t, d.UnmarshalText([]byte(in)), "is not a date: write 2026-03-14, or 2026-03 or 2026", in)
	}
}

func TestDue(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		item    gear.Item
		today   gear.Date
		due     gear.Date
		overdue bool
	}{
		"nothing known":             {gear.Item{}, "2026-11-25", "", false},
		"no interval":               {gear.Item{Inspected: "2020-01-01"}, "2026-11-25", "", false},
		"an interval, never looked": {gear.Item{Life: gear.Life{InspectEvery: months(12)}}, "2026-11-25", "", true},
		"on the day":                {gear.Item{Inspected: "2025-11-25", Life: gear.Life{InspectEvery: months(12)}}, "2026-11-25", "2026-11-25", false},
		"a day late":                {gear.Item{Inspected: "2025-11-25", Life: gear.Life{InspectEvery: months(12)}}, "2026-11-26", "2026-11-25", true},
		"only the year is known":    {gear.Item{Inspected: "2025", Life: gear.Life{InspectEvery: months(12)}}, "2026-01-02", "2026-01-01", true},
		"the latest counts": {gear.Item{Inspected: "2024-01-01", Life: gear.Life{InspectEvery: months(6), Inspections: []gear.Inspection{
			{Date: "2026-08-01", Result: gear.InOrder}, {Date: "2025-01-01", Result: gear.Watch}}}}, "2026-11-25", "2027-02-01", false},
		"today is not known": {gear.Item{Inspected: "2000-01-01", Life: gear.Life{InspectEvery: months(12)}}, "", "2001-01-01", false},
	} {
		d := c.item.Due(c.today)
		assert.Equal(t, c.due, d.Date, name)
		assert.Equal(t, c.overdue, d.Overdue, name)
		assert.NotEmpty(t, d.Text, name)
	}
}

// TestNotDueOutOfService: of what nobody may use, no day is told until which it
// would not have to be looked at.
func TestNotDueOutOfService(t *testing.T) {
	t.Parallel()
	gone := &gear.Withdrawal{Reason: "cut"}
	in := gear.Item{Life: gear.Life{InspectEvery: months(12), Inspections: []gear.Inspection{{Date: "2026-08-01", Result: gear.Watch}}}}
	assert.Equal(t, "Last inspected 1 August 2026; due again by 1 August 2027.", in.Due("2026-11-25").Text)
	for name, out := range map[string]func(*gear.Item){
		"quarantined": func(it *gear.Item) { it.Quarantined = gone },
		"retired":     func(it *gear.Item) { it.Retired = gone },
		"unfit": func(it *gear.Item) {
			it.Inspections = []gear.Inspection{{Date: "2026-08-01", Result: gear.Unfit}}
		},
	} {
		it := in
		out(&it)
		assert.Equal(t, "Last inspected 1 August 2026.", it.Due("2026-11-25").Text, name)
	}
}

func TestAge(t *testing.T) {
	t.Parallel()
	a, ok := gear.Item{Made: "2024-11-25"}.Age("2026-11-25")
	require.True(t, ok)
	assert.InDelta(t, 2, a.Years, 0.002)
	assert.Equal(t, "2.0 years", a.Text)
	a, ok = gear.Item{Made: "2023"}.Age("2026-07-02")
	require.True(t, ok)
	assert.InDelta(t, 3.5, a.Years, 0.01, "as old as it can be")
	assert.Equal(t, "up to 3.5 years (made 2023)", a.Text)
	for _, it := range []gear.Item{{}, {Made: "spring"}} {
		_, ok = it.Age("2026-07-02")
		assert.False(t, ok)
	}
	_, ok = gear.Item{Made: "2023"}.Age("")
	assert.False(t, ok)
}

func TestRetireReasons(t *testing.T) {
	t.Parallel()
	five, half := 5.0, 0.5
	strap := gear.Item{Made: "2023", Ratings: []gear.Rating{{Value: 80e3, Basis: gear.MBS}}, Life: gear.Life{RetireRule: &gear.RetireRule{
		MaxAge: &five, MaxPulls: months(100), MaxPeak: &half, By: "2027-06"}}}
	today, kN := gear.Date("2026-11-25"), unit.Kilonewton
	assert.Empty(t, strap.RetireReasons(gear.Used{Pulls: 100, Peak: 40e3}, today, kN), "at the limits is not past them")
	assert.Equal(t, []string{"It carried 101 pulls; the owner retires it after 100."}, strap.RetireReasons(gear.Used{Pulls: 101}, today, kN))
	assert.Equal(t, []string{"It carried 44 kN, 55 % of its breaking strength; the owner retires it after more than 50 %."},
		strap.RetireReasons(gear.Used{Peak: 44e3}, today, kN))
	assert.Empty(t, strap.RetireReasons(gear.Used{}, "2027-06-30", kN))
	assert.Equal(t, []string{"The owner retires it by 2027-06."}, strap.RetireReasons(gear.Used{}, "2027-07-01", kN))
	assert.Equal(t, []string{"It is up to 5.5 years (made 2023) old; the owner retires it after 5 years.", "The owner retires it by 2027-06."},
		strap.RetireReasons(gear.Used{}, "2028-07-01", kN))

	strap.Ratings = nil
	assert.Empty(t, strap.RetireReasons(gear.Used{Peak: 1e6}, today, kN), "an unknown strength is not zero")
	strap.RetireRule = nil
	assert.Empty(t, strap.RetireReasons(gear.Used{Pulls: 1e6}, "2099", kN), "no rule, no reason")
}

// Whatever is a reason to retire stays one as pulls, peak and time go on.
func TestRetireReasonsOnlyGrow(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		age, peak := rapid.Float64Range(0.1, 10).Draw(t, "age"), rapid.Float64Range(0.1, 1).Draw(t, "peak")
		it := gear.Item{Made: "2024", Ratings: []gear.Rating{{Value: 80e3, Basis: gear.MBS}}, Life: gear.Life{RetireRule: &gear.RetireRule{
			MaxAge: &age, MaxPulls: months(rapid.IntRange(1, 200).Draw(t, "pulls")), MaxPeak: &peak, By: "2028"}}}
		days := []gear.Date{"2025-01-01", "2027-05-05", "2029-01-01", "2035-01-01"}
		used, last := gear.Used{}, 0
		for _, day := range days {
			used.Pulls += rapid.IntRange(0, 100).Draw(t, "more pulls")
			used.Peak += unit.Force(rapid.Float64Range(0, 40e3).Draw(t, "more force"))
			n := len(it.RetireReasons(used, day, unit.Kilonewton))
			assert.GreaterOrEqual(t, n, last)
			last = n
		}
	})
}

func TestMountingEvidence(t *testing.T) {
	t.Parallel()
	none, bent := unit.Length(0), unit.Length(0.002)
	f := &gear.Fixing{Proofs: []gear.ProofPull{{Level: 30e3, Set: &none}, {Level: 50e3, Set: &bent}, {Level: 40e3}, {Level: 60e3, Set: &none}}}
	assert.Equal(t, unit.Force(40e3), f.Proved().Level, "not above the level at which it bent")
	assert.Equal(t, unit.Force(50e3), f.Yielded().Level)
	assert.Equal(t, []gear.Rating{{Value: 50e3, Basis: gear.TookASet}}, f.Evidence(straight()))
	var unknown *gear.Fixing
	assert.Nil(t, unknown.Proved())
	assert.Nil(t, unknown.Yielded())
	assert.Empty(t, unknown.Evidence(straight()))
	for _, r := range (&gear.Fixing{Bolts: []gear.Bolts{four("M12", "8.8", gear.Along)}, Proofs: f.Proofs}).Evidence(straight()) {
		_, ok := r.Working()
		assert.False(t, ok, "evidence is no working limit: %s", r.Basis)
		assert.NotContains(t, gear.Bases(), r.Basis, "and no file can state it")
	}
}

func TestHeld(t *testing.T) {
	t.Parallel()
	f := &gear.Fixing{Member: "chassis rail"}
	m, ok := gear.Item{Name: "rear point", Kind: gear.RecoveryPoint, Vehicle: "Heron", Fixing: f}.Held()
	require.True(t, ok)
	assert.Equal(t, gear.Item{Name: "mounting of rear point", Kind: gear.Mounting, Vehicle: "Heron", Fixing: f}, m)
	_, ok = m.Held()
	assert.False(t, ok, "a mounting has none of its own")
	_, ok = gear.Item{Name: "rear point", Kind: gear.RecoveryPoint}.Held()
	assert.False(t, ok)
}

func TestCheckOfMountingAndLife(t *testing.T) {
	t.Parallel()
	bad, two := -1.0, 2.0
	negative := unit.Length(-1)
	it := gear.Item{Name: "s", Kind: gear.BowShackle,
		Fixing: &gear.Fixing{
			Bolts: []gear.Bolts{{Count: 100, Size: "M12", Pitch: metres(3), Hole: metres(10), Lever: &negative, End: &negative}},
			Plate: &gear.Plate{Thickness: &negative}, Proofs: []gear.ProofPull{{Hold: &bad, Decay: &two, Set: &negative}}},
		Life: gear.Life{InspectEvery: months(0), Inspections: []gear.Inspection{{}}, Quarantined: &gear.Withdrawal{}, Retired: &gear.Withdrawal{Reason: " "},
			RetireRule: &gear.RetireRule{MaxAge: &bad, MaxPulls: months(0), MaxPeak: &two}}}
	var paths []string
	for _, p := range it.Check() {
		paths = append(paths, p.Path)
	}
	assert.Equal(t, []string{
		"mounting", "mounting.bolts#1.count", "mounting.bolts#1.thread_pitch", "mounting.bolts#1.hole", "mounting.bolts#1.lever_arm", "mounting.bolts#1.end_distance",
		"mounting.plate.thickness", "mounting.proof_pulls#1.level", "mounting.proof_pulls#1.hold_s", "mounting.proof_pulls#1.decay", "mounting.proof_pulls#1.set",
		"retire_rule.max_age_years", "retire_rule.max_pulls", "retire_rule.max_peak_of_mbs", "inspect_every_months",
		"inspections#1.date", "inspections#1.result", "quarantined.reason", "retired.reason",
	}, paths)
}

func TestMountingWords(t *testing.T) {
	t.Parallel()
	assert.ErrorContains(t, new(gear.Thread).UnmarshalText([]byte("M13")), `"M13" is not a size of a bolt: write one of M8, M10`)
	assert.ErrorContains(t, new(gear.PropertyClass).UnmarshalText([]byte("A2-70")), `write one of 4.6, 4.8`)
	assert.ErrorContains(t, new(gear.Axis).UnmarshalText([]byte("shear")), `write one of along, across, upright`)
	assert.ErrorContains(t, new(gear.ShearPlane).UnmarshalText([]byte("x")), `write one of thread, shank`)
	assert.ErrorContains(t, new(gear.Steel).UnmarshalText([]byte("mild")), `write one of S235, S275, S355`)
	assert.ErrorContains(t, new(gear.Finding).UnmarshalText([]byte("ok")), `write one of in order, watch, unfit`)
	assert.ErrorContains(t, new(gear.Answer).UnmarshalText([]byte("maybe")), `write one of yes, no`)
	a := gear.Yes
	require.NoError(t, a.UnmarshalText([]byte("unknown")))
	assert.Equal(t, gear.NotKnown, a)
	assert.Equal(t, "unknown", a.String())
}
