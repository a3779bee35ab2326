package web_test

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/kinetic"
	"tautlog/calc/unit"
	"tautlog/ingest/store"
)

// kineticLink is a kinetic pull with the fixture's rig: 2800 kg pull 2800 kg
// on a strap of 9 m and 80 kN that stretches 20 % at that.
func kineticLink() url.Values {
	return form("rig", "single strap", "speed", "8 km/h", "ground", "wet sand", "length", "9 m", "elongation", "20%", "resistance", "12 kN")
}

// TestKineticPlan compares the page with the closed formulas of calc/kinetic
// and with the rule of thumb, by hand: 3 · 2800 kg · 9.80665 m/s² = 82.4 kN.
func TestKineticPlan(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	stiffness := kinetic.Secant(80_000, 0.2, 9)
	model, err := kinetic.Closed(kinetic.Pull{Puller: 2800, Stuck: 2800, Speed: unit.Speed(8 / 3.6), Line: kinetic.Line{Curve: kinetic.Linear(stiffness)}, Resistance: 12_000})
	require.NoError(t, err)
	page, said := f.plan(t, "kinetic", kineticLink())
	for _, say := range []string{
		"Heron pulls Otter at 8 km/h", "82.4 kN (expected " + model.Peak.String() + ")",
		"Planned with 82.4 kN: 3.00 times the weight of 2.8 t, assumed, not measured: common practice, no source (rule of thumb).",
		"what is assumed 82.4 kN, 3.00 times the weight of 2.8 t. Planned with.",
		"the model " + model.Peak.String(), "The ground holds it with 12 kN, and by the model it moves before the peak.",
		"bow shackle 13: over rating.", "blue strap 9 m: over breaking strength.",
		"The expected peak reaches the limit of bow shackle 13, 31.9 kN on the line, at",
		"Keep out: 13.5 m from the line and its ends, 1.5 times its 9 m.",
		"a part of 1 kg at up to 1410 km/h", // E = F²/2k = 76.3 kJ, √(2E/m)
	} {
		says(t, said, say)
	}
	assert.Contains(t, page, `name="puller-mass" value="2800 kg"`, "filled in from the rig")
	assert.Contains(t, page, `name="mbs" value="80 kN"`)

	for q, want := range map[string]struct{ field, say string }{
		"rig=single+strap&elongation=20%25&length=9m":                                                          {"speed", "The speed is needed"},
		"rig=single+strap&speed=8&elongation=20%25":                                                            {"speed", "a bare number is refused"},
		"rig=single+strap&speed=8km/h":                                                                         {"elongation", "How does it stretch?"},
		"rig=single+strap&speed=8km/h&elongation=20":                                                           {"elongation", "add %"},
		"rig=single+strap&speed=8km/h&length=9m&elongation=20%25&attempts=99":                                  {"attempts", "is not a number from 1 to 50"},
		"rig=single+strap&speed=8km/h&length=9m&elongation=20%25&with=nothing@4":                               {"with", "There is no set"},
		"puller-mass=3t&stuck-mass=3t&speed=8km/h&elongation=20%25&stiffness=60kN/m":                           {"stiffness", "told twice"},
		"puller-mass=3t&stuck-mass=3t&speed=8km/h&elongation=20%25":                                            {"length", "needs the length"},
		"puller-mass=3t&stuck-mass=3t&speed=8km/h&length=9m&elongation=20%25":                                  {"mbs", "needs the load for it"},
		"puller-mass=3t&stuck-mass=3t&speed=8km/h&stiffness=60kN/m&at=20kN":                                    {"at", "belongs to a stretch"},
		"puller-mass=3t&stuck-mass=3t&speed=8km/h&stiffness=60kN/m&wet-stiffness=110%25":                       {"wet-stiffness", "belongs to a wet strap"},
		"puller-mass=3t&stuck-mass=3t&speed=8km/h&stiffness=60kN/m&driven=60%25":                               {"driven", "belongs to a grip"},
		"puller-mass=3t&stuck-mass=3t&speed=8km/h&stiffness=60kN/m&parts-off=1kg,+2":                           {"parts-off", "bare number"},
		"puller-mass=3t&stuck-mass=3t&speed=8km/h&stiffness=60kN/m&on=17.5.2026":                               {"on", "is not a date"},
		"puller-mass=3t&stuck-mass=3t&speed=8km/h&curve=stretch_m,force_kN%0A0.5,12%0A0.9,11":                  {"curve", "Line 3: stretch and force must both rise"},
		"puller-mass=3t&stuck-mass=3t&speed=8km/h&curve=stretch_m,force_kN%0A0.5,12&stiffness=60kN/m":          {"curve", "told twice"},
		"puller-mass=3t&stuck-mass=3t&speed=8km/h&curve=elongation_percent,force_kN%0A5,12":                    {"curve", "Line 1: elongation_percent is a part of the strap's length"},
		"puller-mass=3t&stuck-mass=3t&speed=8km/h&curve=stretch_m,force_kN%0A0.5," + strings.Repeat("1", 4000): {"curve", "more than 4000 characters"},
		"rig=single+strap&speed=8km/h&length=9m&elongation=20%25&grip=much":                                    {"grip", "is not a number"},
		"rig=single+strap&speed=0km/h&slack=2m&length=9m&elongation=20%25&slope=89.9999°":                      {"speed", "."},
	} {
		page := f.page(t, "/plan/kinetic?"+q)
		assert.Contains(t, page, `aria-describedby="`+want.field+`-say" aria-invalid="true"`, q)
		says(t, visible(page), want.say)
	}
}

// TestKeepAPlan keeps a plan, changes the set in use, and opens it again: the
// numbers are those that were kept.
func TestKeepAPlan(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	f.history(t)
	res := f.post(t, "/plan/kinetic/keep", form("name", "Saturday", "inputs", kineticLink().Encode()))
	require.Equal(t, http.StatusSeeOther, res.StatusCode, read(t, res))
	kept := res.Header.Get("Location")
	said := f.said(t, kept)
	for _, say := range []string{"82.4 kN", "It was planned with rule of thumb. That set is still in use.", "bow shackle 13: over rating."} {
		says(t, said, say)
	}
	says(t, f.said(t, "/plan"), "Saturday 82.4 kN: Heron pulls Otter at 8 km/h kinetic, kept")

	again := f.post(t, "/plan/kinetic/keep", form("name", "Saturday", "inputs", kineticLink().Encode()))
	assert.Equal(t, http.StatusConflict, again.StatusCode, "what is kept is not written over")
	require.Equal(t, http.StatusSeeOther, f.post(t, "/multipliers/keep", form("name", "river bar 2026")).StatusCode)
	require.Equal(t, http.StatusSeeOther, f.post(t, "/multipliers/use", form("set", "river bar 2026@1")).StatusCode)
	page := f.page(t, kept)
	said = f.said(t, kept)
	says(t, said, "The set in use has changed since: today it is river bar 2026, version 1. The numbers below are as they were kept.")
	says(t, said, "82.4 kN")
	assert.Contains(t, page, `class="chain chain-wide"`)

	_, anew := f.plan(t, "kinetic", kineticLink())
	assert.NotContains(t, anew, "82.4 kN (expected", "worked out anew it is another number")
	inLbf := f.ask("GET", kept, nil, func(r *http.Request) { r.AddCookie(&http.Cookie{Name: "unit", Value: "lbf"}) })
	assert.Contains(t, read(t, inLbf), "It is told in kN, as it was kept.")
}

// TestRemoveAPlan removes a kept plan, keeps another under its name, and
// brings the first one back once that name is free again.
func TestRemoveAPlan(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	keep := func() string {
		t.Helper()
		res := f.post(t, "/plan/kinetic/keep", form("name", "Saturday", "inputs", kineticLink().Encode()))
		require.Equal(t, http.StatusSeeOther, res.StatusCode, read(t, res))
		return res.Header.Get("Location")
	}
	first := keep()
	assert.Equal(t, http.StatusNotFound, f.post(t, first+"/back", form()).StatusCode, "it is in the list")
	gone := f.post(t, first+"/remove", form())
	require.Equal(t, http.StatusSeeOther, gone.StatusCode, read(t, gone))
	said := f.said(t, gone.Header.Get("Location"))
	says(t, said, "Saturday was removed. Bring it back")
	assert.NotContains(t, said, "Kept plans")
	says(t, f.said(t, first), "This plan was removed from the list.")
	assert.Equal(t, http.StatusNotFound, f.post(t, first+"/remove", form()).StatusCode, "removed twice")

	second := keep()
	assert.Equal(t, http.StatusConflict, f.post(t, first+"/back", form()).StatusCode, "its name is another's now")
	require.Equal(t, http.StatusSeeOther, f.post(t, second+"/remove", form()).StatusCode)
	require.Equal(t, http.StatusSeeOther, f.post(t, first+"/back", form()).StatusCode)
	says(t, f.said(t, "/plan"), "Saturday 82.4 kN")
	assert.NotContains(t, f.said(t, gone.Header.Get("Location")), "was removed", "it is back")
}

// TestTheLogIsReadAgainAfterAChange: what was said of a pull shows at once.
func TestTheLogIsReadAgainAfterAChange(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	f.history(t)
	before := f.said(t, "/multipliers?set=log")
	says(t, before, "What the log says today")
	pulls, err := f.store.Pulls(t.Context(), store.PullFilter{Limit: 1})
	require.NoError(t, err)
	pulls[0].Ground = "volcanic ash"
	_, err = f.store.SavePull(t.Context(), pulls[0])
	require.NoError(t, err)
	assert.NotContains(t, before, "volcanic ash")
	says(t, f.said(t, "/multipliers?set=log"), "volcanic ash")
}

// TestStretchOfTheStrap leaves open how the strap stretches, which the set of
// multipliers knows, and lets a person write another one. The set is of pulls
// of known speed; the peak of the model is the closed formula's.
func TestStretchOfTheStrap(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	f.history(t)
	require.Equal(t, http.StatusSeeOther, f.post(t, "/multipliers/keep", form("name", "river bar 2026")).StatusCode)
	require.Equal(t, http.StatusSeeOther, f.post(t, "/multipliers/use", form("set", "river bar 2026@1")).StatusCode)
	set, err := f.store.Set(t.Context(), "river bar 2026", 1)
	require.NoError(t, err)
	known := set.Fit.Speed.Straps[0]
	_, said := f.plan(t, "kinetic", form("puller-mass", ""))
	says(t, said, "at its breaking strength: 20%. Left empty, it is as the pulls tell it of recovery strap.")

	page, said := f.plan(t, "kinetic", form("rig", "single strap", "speed", "8 km/h", "ground", "silt"))
	source := fmt.Sprintf("%.3g %% at its breaking strength, by %d pulls with recovery strap (river bar 2026, version 1)", 100/known.Value, known.Pulls)
	says(t, said, "Left empty, it is "+source+". Write another if you know better.")
	says(t, said, "The strap counts as stretching by "+source)
	says(t, said, "as the register has it of blue strap 9 m. Write another if you know better")
	model, err := kinetic.Closed(kinetic.Pull{Puller: 2800, Stuck: 2800, Speed: unit.Speed(8 / 3.6), Fixed: true, Line: kinetic.Line{Curve: kinetic.Linear(kinetic.Secant(80_000, 1/known.Value, 9))}})
	require.NoError(t, err)
	says(t, said, "the model "+model.Peak.String())
	assert.Contains(t, page, `name="elongation" value=""`, "it stays open, so that another strap takes its own")

	_, said = f.plan(t, "kinetic", form("rig", "single strap", "speed", "8 km/h", "ground", "silt", "elongation", "20%"))
	assert.NotContains(t, said, "counts as stretching by")
	_, said = f.plan(t, "kinetic", form("puller-mass", "3t", "stuck-mass", "3t", "speed", "8 km/h", "strap", "Recovery Strap", "length", "9 m"))
	says(t, said, "A stretch as a share needs the load for it.")
}

// TestMeasuredCurve pastes a loading curve: a straight one is the line of its
// stiffness, whatever stands between columns and decimals.
func TestMeasuredCurve(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	model, err := kinetic.Closed(kinetic.Pull{Puller: 3000, Stuck: 3000, Speed: unit.Speed(8 / 3.6), Fixed: true, Line: kinetic.Line{Curve: kinetic.Linear(60e3)}})
	require.NoError(t, err)
	for _, curve := range []string{
		"stretch_m,force_kN\n0.5,30\n1.5,90\n",
		"stretch_m;force_kN\r\n0,5;30\r\n1,5;90",
		"elongation_percent\tforce_kN\n5\t30,0\n15\t90",
	} {
		_, said := f.plan(t, "kinetic", form("puller-mass", "3t", "stuck-mass", "3t", "speed", "8 km/h", "length", "10 m", "curve", curve))
		says(t, said, "the model "+model.Peak.String())
	}
}
