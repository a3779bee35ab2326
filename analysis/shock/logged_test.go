package shock_test

import (
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/analysis/shock"
	"tautlog/calc/gear"
	"tautlog/calc/kinetic"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
)

// bridleRig is the example rig of the project: a puller of 2.8 t as weighed, a
// stuck vehicle of 2.8 t by GVM, a recovery strap of 9 m and 8 t MBS.
func bridleRig(t *testing.T) *rig.Rig {
	t.Helper()
	f, err := os.Open("../../testdata/rigs/kinetic-bridle.json")
	require.NoError(t, err)
	defer f.Close()
	r, err := rig.Decode(f)
	require.NoError(t, err)
	return &r
}

func aLogged(t *testing.T) shock.Logged {
	t.Helper()
	return shock.Logged{
		ID: "pull 12", Number: 12, Day: "2026-05-09", Kind: pull.Kinetic, Ground: " River  Silt", Rig: bridleRig(t),
		Found: pull.Pull{Peak: 42e3, PeakLow: 41e3, PeakHigh: 47e3, Flags: []string{pull.FlagSampling}, ToPeak: 2800 * 2.5},
	}
}

func of[T any](v T) *T { return &v }

func TestFromLog(t *testing.T) {
	t.Parallel()
	l := aLogged(t)
	l.Speed = of(unit.Speed(2.4))
	tonne := unit.Force(1000 * unit.StandardGravity)
	want := shock.Pull{
		ID: "pull 12", Line: 12, Day: "2026-05-09", Class: shock.Class{Kind: pull.Kinetic, Ground: "river silt", Strap: "recovery strap"},
		Peak: 42e3, Low: 41e3, High: 47e3, Reference: 2800, Flags: []string{pull.FlagSampling},
		Speed: 2.4, Puller: 2800, StrapLength: 9, StrapMBS: 8 * tonne, Remark: "reference mass by GVM, not weighed",
	}
	got := shock.FromLog(l)
	require.InDelta(t, float64(want.StrapMBS), float64(got.StrapMBS), 1e-6)
	got.StrapMBS = want.StrapMBS
	require.Equal(t, want, got)
	require.Empty(t, got.Problem())
	l.Found.Flags[0] = "changed afterwards"
	require.Equal(t, []string{pull.FlagSampling}, got.Flags)
}

func TestFromLogSaysWhatItKnows(t *testing.T) {
	t.Parallel()
	rope := func(name string, kind gear.Kind, length unit.Length, mbs unit.Force) rig.Link {
		return rig.InLine(gear.Item{Name: name, Kind: kind, Length: &length, Ratings: []gear.Rating{
			{Value: 2 * mbs, Basis: gear.MBS}, {Value: mbs, Basis: gear.MBS}, {Value: 1, Basis: gear.WLL}, {Value: 1, Basis: gear.MBS, Together: gear.Pair}}})
	}
	insert := func(r *rig.Rig, at int, links ...rig.Link) {
		r.Chain = append(append(append([]rig.Link{}, r.Chain[:at]...), links...), r.Chain[at+1:]...)
	}
	const strap = 3 // its place in the chain
	for name, c := range map[string]struct {
		change func(*shock.Logged)
		check  func(*testing.T, shock.Pull)
		remark string
	}{
		"no rig": {func(l *shock.Logged) { l.Rig = nil }, func(t *testing.T, p shock.Pull) {
			assert.Zero(t, p.Reference)
			assert.Equal(t, "no reference mass (no rig)", p.Problem())
		}, "no rig"},
		"no rig, mass said": {func(l *shock.Logged) {
			l.Rig, l.StuckMass, l.PullerMass = nil, of(unit.Mass(3100)), of(unit.Mass(2500))
		}, func(t *testing.T, p shock.Pull) {
			assert.Equal(t, unit.Mass(3100), p.Reference)
			assert.Equal(t, unit.Mass(2500), p.Puller)
			assert.Empty(t, p.Problem())
			assert.Empty(t, p.Class.Strap)
		}, "reference mass as said at the pull"},
		"weighed": {func(l *shock.Logged) { l.Rig.Stuck.Weighed = of(unit.Mass(3000)) }, func(t *testing.T, p shock.Pull) {
			assert.Equal(t, unit.Mass(3000), p.Reference)
		}, "reference mass as weighed"},
		"weighed, and how well": {func(l *shock.Logged) {
			l.Rig.Stuck.Weighed, l.Rig.Stuck.WeighedWithin = of(unit.Mass(3000)), of(unit.Mass(60))
		}, func(t *testing.T, p shock.Pull) {
			assert.Equal(t, []unit.Mass{2940, 3000, 3060}, []unit.Mass{p.ReferenceLow, p.Reference, p.ReferenceHigh})
		}, "reference mass as weighed"},
		"by its papers": {func(l *shock.Logged) { l.Rig.Stuck.Kerb = of(unit.Mass(2100)) }, func(t *testing.T, p shock.Pull) {
			assert.Equal(t, []unit.Mass{2100, 2800, 2800}, []unit.Mass{p.ReferenceLow, p.Reference, p.ReferenceHigh})
		}, "by GVM, not weighed"},
		"said, and how well": {func(l *shock.Logged) {
			l.StuckMass, l.StuckWithin = of(unit.Mass(3100)), of(unit.Mass(100))
			l.Rig.Stuck.Weighed, l.Rig.Stuck.WeighedWithin = of(unit.Mass(3000)), of(unit.Mass(60))
		}, func(t *testing.T, p shock.Pull) {
			assert.Equal(t, []unit.Mass{3000, 3100, 3200}, []unit.Mass{p.ReferenceLow, p.Reference, p.ReferenceHigh})
		}, "as said at the pull"},
		"said, but not how well": {func(l *shock.Logged) {
			l.StuckMass = of(unit.Mass(3100))
			l.Rig.Stuck.Weighed, l.Rig.Stuck.WeighedWithin = of(unit.Mass(3000)), of(unit.Mass(60))
		}, func(t *testing.T, p shock.Pull) {
			assert.Zero(t, p.ReferenceLow)
			assert.Zero(t, p.ReferenceHigh)
		}, "as said at the pull"},
		"no mass": {func(l *shock.Logged) { l.Rig.Stuck.GVM = nil }, func(t *testing.T, p shock.Pull) {
			assert.Contains(t, p.Problem(), "no reference mass (Otter is")
		}, "Otter is neither weighed nor has a GVM"},
		"by item": {func(l *shock.Logged) { l.ByItem = true }, func(t *testing.T, p shock.Pull) {
			assert.Equal(t, "blue strap 9 m", p.Class.Strap)
		}, "by GVM"},
		"open": {func(l *shock.Logged) { l.Open = true }, func(t *testing.T, p shock.Pull) {
			assert.Equal(t, []string{pull.FlagSampling, pull.FlagNotEnded}, p.Flags)
		}, "by GVM"},
		"two alike": {func(l *shock.Logged) {
			insert(l.Rig, strap, rope("a", gear.KineticRope, 6, 90e3), rope("b", gear.KineticRope, 5, 80e3))
		}, func(t *testing.T, p shock.Pull) {
			assert.Equal(t, "kinetic rope", p.Class.Strap)
			assert.Equal(t, unit.Length(11), p.StrapLength)
			assert.Equal(t, unit.Force(80e3), p.StrapMBS)
		}, "2 straps follow each other"},
		"two unlike": {func(l *shock.Logged) {
			insert(l.Rig, strap, rope("a", gear.KineticRope, 6, 90e3), l.Rig.Chain[strap])
		}, func(t *testing.T, p shock.Pull) {
			assert.Zero(t, p.StrapLength)
			assert.Zero(t, p.StrapMBS)
		}, "a recovery strap follows a kinetic rope"},
		"none that stretches": {func(l *shock.Logged) { insert(l.Rig, strap, rope("a", gear.TowStrap, 6, 90e3)) }, func(t *testing.T, p shock.Pull) {
			assert.Equal(t, "tow strap", p.Class.Strap)
			assert.Equal(t, unit.Force(90e3), p.StrapMBS)
		}, "by GVM"},
		"none": {func(l *shock.Logged) { insert(l.Rig, strap) }, func(t *testing.T, p shock.Pull) {
			assert.Empty(t, p.Class.Strap)
		}, "no strap or rope in the rig"},
		"cell beside the line": {func(l *shock.Logged) {
			// the cell in a leg of the bridle reads less than the strap carries
			cell := l.Rig.Chain[5]
			insert(l.Rig, 5)
			b := l.Rig.Chain[5].Bridle
			b.Equaliser, b.Left = true, append(b.Left, *cell.Use)
		}, func(t *testing.T, p shock.Pull) {
			assert.Equal(t, unit.Force(42e3), p.Peak)
		}, "carried 1.73 times as much"}, // 2 cos 30°
		"speed far off": {func(l *shock.Logged) { l.Speed = of(unit.Speed(6)) }, func(t *testing.T, p shock.Pull) {
			assert.Equal(t, unit.Speed(6), p.Speed, "what was said is what is fitted")
		}, "check the speed and the mass of the puller"},
		"speed too small": {func(l *shock.Logged) { l.Speed = of(unit.Speed(1.9)) }, func(t *testing.T, p shock.Pull) {
			assert.Equal(t, unit.Speed(1.9), p.Speed)
		}, "check the speed and the mass of the puller"},
		"came along": {func(l *shock.Logged) { l.Speed = of(unit.Speed(4)) }, func(t *testing.T, p shock.Pull) {
			assert.NotContains(t, p.Remark, "check")
		}, "as where the stuck vehicle comes along early"},
		"no speed": {func(*shock.Logged) {}, func(t *testing.T, p shock.Pull) {
			assert.Zero(t, p.Speed, "the trace is not taken for it")
		}, "by GVM"},
	} {
		l := aLogged(t)
		c.change(&l)
		p := shock.FromLog(l)
		c.check(t, p)
		assert.Contains(t, p.Remark, c.remark, name)
	}
}

// TestSpeedFromTrace integrates the force of a simulated pull up to its peak:
// with a stuck end that stands, that is the whole speed of the puller; with
// one that comes along, less.
func TestSpeedFromTrace(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		resistance unit.Force
		low, high  float64
	}{{1e6, 0.999, 1.001}, {5e3, 0.3, 0.75}} {
		impulse, last := 0.0, kinetic.Sample{}
		_, err := kinetic.Solve(kinetic.Pull{
			Puller: 2800, Stuck: 3200, Speed: 2.5, Resistance: c.resistance, Line: kinetic.Line{Curve: kinetic.Linear(60e3)},
		}, kinetic.Options{Interval: 1e-4, Each: func(s kinetic.Sample) {
			impulse += (s.At - last.At) * float64(s.Force+last.Force) / 2
			last = s
		}})
		require.NoError(t, err)
		v, ok := shock.SpeedFromTrace(pull.Pull{ToPeak: impulse}, 2800)
		require.True(t, ok)
		assert.GreaterOrEqual(t, float64(v), c.low*2.5)
		assert.LessOrEqual(t, float64(v), c.high*2.5)
	}
	for name, c := range map[string]struct {
		found pull.Pull
		mass  unit.Mass
	}{
		"no mass": {pull.Pull{ToPeak: 1}, 0}, "no impulse": {pull.Pull{}, 1},
		"gap":      {pull.Pull{ToPeak: 1, Flags: []string{pull.FlagGap}}, 1},
		"overload": {pull.Pull{ToPeak: 1, Flags: []string{pull.FlagOverload}}, 1},
	} {
		v, ok := shock.SpeedFromTrace(c.found, c.mass)
		assert.False(t, ok, name)
		assert.Zero(t, v, name)
	}
}
