package web_test

import (
	"encoding/json"
	"fmt"
	"image/png"
	"math"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/shock"
	"tautlog/calc/unit"
	"tautlog/ingest/store"
)

// history adds pulls of six earlier days, two of each day on each of two
// grounds, at speeds that make their peaks: 22 kN at 6 km/h, rising with it.
func (f *fixture) history(t *testing.T) {
	t.Helper()
	for day := range 6 {
		for n := range 4 {
			p := found()
			shift := int64(24*time.Hour)*int64(day-40) + int64(10*time.Minute)*int64(n)
			p.Start, p.End, p.PeakAt = p.Start+shift, p.End+shift, p.PeakAt+shift
			speed := unit.Speed((6 + float64((day+2*n)%5)) / 3.6)
			p.Peak = unit.Force(22_000 * float64(speed) * 3.6 / 6 * (1 + 0.03*math.Sin(float64(7*day+3*n))))
			p.PeakLow, p.PeakHigh, p.Flags = 0.99*p.Peak, 1.01*p.Peak, nil
			ground := []string{"wet sand", "silt"}[n%2]
			_, err := f.store.SavePull(t.Context(), store.Pull{Cell: f.cell.ID, Found: p, Rig: &f.rig.Value, Ground: ground, Settled: true, Speed: &speed})
			require.NoError(t, err)
		}
	}
}

// fitted is what the log says, asked past the pages.
func (f *fixture) fitted(t *testing.T) shock.Kept {
	t.Helper()
	log, err := f.store.Logged(t.Context(), store.PullFilter{}, time.UTC)
	require.NoError(t, err)
	pulls := make([]shock.Pull, len(log))
	for i, l := range log {
		pulls[i] = shock.FromLog(l)
	}
	return shock.Keep("river bar 2026", pulls)
}

func (f *fixture) said(t *testing.T, target string) string {
	t.Helper()
	return strings.Join(strings.Fields(visible(f.page(t, target))), " ")
}

func (f *fixture) post(t *testing.T, target string, form url.Values) *http.Response {
	t.Helper()
	form.Set("token", f.token(t))
	return f.ask("POST", target, form, nil)
}

// TestMultipliersFromTheLog goes the way of a person: look at what the log
// says, keep it, plan with it, and see it named there.
func TestMultipliersFromTheLog(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	f.history(t)
	want := f.fitted(t)
	said := f.said(t, "/multipliers")
	says(t, said, "Planned with now: rule of thumb.")
	says(t, said, "What all pulls in the log say today.")
	require.Len(t, want.Fit.Classes, 2)
	for _, c := range want.Fit.Classes {
		require.NotNil(t, c.Upper)
		says(t, said, fmt.Sprintf("kinetic, %s, recovery strap: plan with %.2f", c.Ground, *c.Upper))
		says(t, said, fmt.Sprintf("Half of such pulls stayed below %.2f. %d pulls on", c.Median, c.Pulls))
		says(t, said, fmt.Sprintf("kinetic, %s, recovery strap: Rule of thumb plans with 3.00", c.Ground))
	}

	res := f.post(t, "/multipliers/keep", form("name", "river bar 2026", "note", "after the flood"))
	require.Equal(t, http.StatusSeeOther, res.StatusCode, read(t, res))
	assert.Equal(t, "/multipliers?set=river+bar+2026%401", res.Header.Get("Location"))
	kept, err := f.store.Set(t.Context(), "river bar 2026", 1)
	require.NoError(t, err)
	assert.Equal(t, want.Fit.Classes, kept.Fit.Classes)
	assert.Equal(t, []string{"pages", "after the flood"}, []string{kept.Who, kept.Note})

	res = f.post(t, "/multipliers/use", form("set", "river bar 2026@1"))
	require.Equal(t, http.StatusSeeOther, res.StatusCode)
	said = f.said(t, "/multipliers")
	says(t, said, "Planned with now: river bar 2026, version 1.")
	says(t, said, "Plan with rule of thumb")
	page, said := f.plan(t, "kinetic", form("rig", "single strap", "speed", "8 km/h", "ground", "wet sand", "elongation", "20%", "length", "9 m"))
	says(t, said, "(river bar 2026, version 1)")
	assert.Contains(t, page, `<option value="rule of thumb@0"`)
}

// TestCheckAnAssumption asks the committee's question of the log.
func TestCheckAnAssumption(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	f.history(t)
	set := shock.Fit(f.fitted(t).Pulls)
	for _, assumed := range []float64{3, 0.8, 1.2} {
		want := set.Check(assumed, func(c shock.Class) bool { return c.Ground == "silt" })
		said := f.said(t, fmt.Sprintf("/multipliers?assume=%g&ground=silt", assumed))
		says(t, strings.ToLower(said), string(want.Answer)+".")
		says(t, said, strings.Join(strings.Fields(want.Sentence()), " "))
	}
	says(t, f.said(t, "/multipliers?assume=3&ground=moon"), "No pull of that kind, ground and strap can be used.")
	says(t, f.said(t, "/multipliers?assume=three"), `"three" is not a number`)
	says(t, f.said(t, "/multipliers?assume="), "Write how many times the weight, such as 3.")
	assert.Contains(t, f.page(t, "/multipliers"), `name="assume" value="3"`, "the rule of thumb is what one asks about first")
}

// TestCheckWithoutPulls: where no pull was ever logged nothing is on its way.
func TestCheckWithoutPulls(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	p := f.now(t)
	p.Rig = nil
	_, err := f.store.SavePull(t.Context(), p)
	require.NoError(t, err)
	says(t, f.said(t, "/multipliers?assume=3"), "No pull in the log can be used yet, so there is nothing to hold it against.")
}

// TestAssumeByHand states a multiplier, then another one of the same set.
func TestAssumeByHand(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	res := f.post(t, "/multipliers/assume", form("multiplier", "2.5", "kind", "kinetic", "ground", "wet sand", "source", "our handbook, page 12", "name", "handbook"))
	require.Equal(t, http.StatusSeeOther, res.StatusCode, read(t, res))
	res = f.post(t, "/multipliers/assume", form("multiplier", "2", "source", "our handbook, page 13", "name", "handbook"))
	require.Equal(t, http.StatusSeeOther, res.StatusCode, read(t, res))
	said := f.said(t, res.Header.Get("Location"))
	says(t, said, "2.5 times the weight For kinetic pulls on wet sand. Assumed, not measured: our handbook, page 12.")
	says(t, said, "2 times the weight For any pulls. Assumed, not measured: our handbook, page 13.")
	k, err := f.store.Set(t.Context(), "handbook", 0)
	require.NoError(t, err)
	assert.Equal(t, 2, k.Version)
	assert.Len(t, k.Assumed, 2)

	f.history(t)
	page := f.page(t, "/multipliers?set=handbook@1")
	says(t, visible(page), "Nothing is planned with it until you choose it.")
	assert.Contains(t, page, `name="assume" value="2.5"`, "what it assumes is what one asks about")
	assert.Contains(t, page, `<option value="wet sand" selected>`)
	assert.NotContains(t, f.said(t, "/multipliers?set=log"), "until you choose it")
}

// TestMultipliersTakenAlong reads the exports back.
func TestMultipliersTakenAlong(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	f.history(t)
	pulls, err := shock.Decode(strings.NewReader(f.page(t, "/api/multipliers/pulls.csv?set=log")), false)
	require.NoError(t, err)
	assert.Len(t, pulls, 25)
	var k shock.Kept
	require.NoError(t, json.Unmarshal([]byte(f.page(t, "/api/multipliers?set=log")), &k))
	assert.Equal(t, f.fitted(t).Fit.Classes, k.Fit.Classes)
	table := f.page(t, "/api/multipliers/classes.csv")
	assert.Contains(t, table, `"common practice, no source",rule of thumb,0`)
}

// TestChartsOfMultipliers reads what the script draws.
func TestChartsOfMultipliers(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	for _, kind := range []string{"speed", "residuals"} {
		res := f.ask("GET", "/api/multipliers/"+kind, nil, nil)
		assert.Equal(t, http.StatusNotFound, res.StatusCode, "one pull without a speed is no chart")
	}
	f.history(t)
	type ground struct {
		Ground string
		Points []struct {
			Name, Link string
			Speed      float64 `json:"speed_kmh"`
			Factor     float64
			Low, High  float64
		}
		Curve []struct {
			Expected float64
			Upper    *float64 `json:"upper_95_95"`
		}
	}
	var bySpeed, residuals struct {
		Grounds []ground
		Says    string
	}
	require.NoError(t, json.Unmarshal([]byte(f.page(t, "/api/multipliers/speed?set=log&strap=recovery+strap")), &bySpeed))
	require.NoError(t, json.Unmarshal([]byte(f.page(t, "/api/multipliers/residuals?set=log")), &residuals))
	require.Len(t, bySpeed.Grounds, 2)
	for _, g := range bySpeed.Grounds {
		require.Len(t, g.Points, 12)
		require.NotEmpty(t, g.Curve)
		for _, p := range g.Points {
			assert.Regexp(t, `^/pulls/\d+$`, p.Link)
			assert.True(t, p.Low <= p.Factor && p.Factor <= p.High && p.Speed >= 6 && p.Speed <= 10, "%+v", p)
		}
		for _, c := range g.Curve {
			require.NotNil(t, c.Upper, "six days are enough for a bound")
			assert.Greater(t, *c.Upper, c.Expected)
		}
		assert.Greater(t, g.Curve[len(g.Curve)-1].Expected, g.Curve[0].Expected, "faster is harder")
	}
	for _, g := range residuals.Grounds {
		for _, p := range g.Points {
			assert.InDelta(t, 1, p.Factor, 0.1)
		}
	}
	var classes struct {
		Classes []struct {
			Assumed, Upper *float64
			Points         []struct{ Name string }
		}
	}
	require.NoError(t, json.Unmarshal([]byte(f.page(t, "/api/multipliers/classes?set=log")), &classes))
	require.Len(t, classes.Classes, 2)
	assert.Equal(t, 3.0, *classes.Classes[0].Assumed)
	assert.Len(t, classes.Classes[1].Points, 13)
}

// TestPlanADay asks for the pulls that tell most, inside the rig's first limit.
func TestPlanADay(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	f.history(t)
	said := f.said(t, "/multipliers/next?limit=60kN&ground=silt")
	for _, say := range []string{"To be planned: kinetic, silt, recovery strap", "The day", "of the limit of 60 kN", "After each pull, compare its peak"} {
		says(t, said, say)
	}
	for target, say := range map[string]string{
		"/multipliers/next?count=3":            "Choose a rig, or write the largest force",
		"/multipliers/next?limit=45":           "bare number",
		"/multipliers/next?limit=45kN&count=0": "is not a number from 1 to 50",
	} {
		says(t, f.said(t, target), say)
	}
}

// TestMultipliersRefused lists what must change nothing.
func TestMultipliersRefused(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	f.history(t)
	cross := func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "cross-site") }
	tok := f.token(t)
	before, err := f.store.Journal(t.Context(), "", 0, 0)
	require.NoError(t, err)
	for name, c := range map[string]struct {
		target string
		form   url.Values
		change func(*http.Request)
		want   int
	}{
		"keep without token":        {"/multipliers/keep", form("name", "x"), nil, 403},
		"keep from another site":    {"/multipliers/keep", form("name", "x", "token", tok), cross, 403},
		"keep without a name":       {"/multipliers/keep", form("token", tok), nil, 400},
		"keep under the thumb":      {"/multipliers/keep", form("token", tok, "name", "Rule of Thumb"), nil, 400},
		"keep under a name with @":  {"/multipliers/keep", form("token", tok, "name", "a@b"), nil, 400},
		"use without token":         {"/multipliers/use", form("set", "rule of thumb@0"), nil, 403},
		"use of none":               {"/multipliers/use", form("token", tok, "set", "nothing@3"), nil, 404},
		"use of nonsense":           {"/multipliers/use", form("token", tok, "set", "nothing"), nil, 404},
		"assume without token":      {"/multipliers/assume", form("multiplier", "3"), nil, 403},
		"assume nothing":            {"/multipliers/assume", form("token", tok, "name", "x", "source", "y"), nil, 400},
		"assume less than nothing":  {"/multipliers/assume", form("token", tok, "name", "x", "source", "y", "multiplier", "-3"), nil, 400},
		"assume without a source":   {"/multipliers/assume", form("token", tok, "name", "x", "multiplier", "3"), nil, 400},
		"assume for a strange kind": {"/multipliers/assume", form("token", tok, "name", "x", "source", "y", "multiplier", "3", "kind", "jerk"), nil, 400},
		"keep a plan untold":        {"/plan/steady/keep", form("token", tok, "name", "x", "inputs", "stuck-mass=3"), nil, 400},
		"keep a plan without name":  {"/plan/steady/keep", form("token", tok, "inputs", "stuck-mass=3t&mire=cab"), nil, 400},
		"keep a plan of no kind":    {"/plan/wishes/keep", form("token", tok, "name", "x"), nil, 404},
		"keep a plan of another":    {"/plan/steady/keep", form("token", tok, "name", "x", "inputs", "stuck-mass=3t&mire=cab"), cross, 403},
		"keep a plan, no token":     {"/plan/steady/keep", form("name", "x", "inputs", "stuck-mass=3t&mire=cab"), nil, 403},
	} {
		t.Run(name, func(t *testing.T) {
			res := f.ask("POST", c.target, c.form, c.change)
			assert.Equal(t, c.want, res.StatusCode, read(t, res))
		})
	}
	after, err := f.store.Journal(t.Context(), "", 0, 0)
	require.NoError(t, err)
	assert.Equal(t, before, after, "a refused request changed something")
	for _, target := range []string{"/multipliers?set=none@1", "/api/multipliers?set=none@1", "/plan/kept/7", "/plan/kept/99999"} {
		assert.Equal(t, http.StatusNotFound, f.ask("GET", target, nil, nil).StatusCode, target)
	}
}

// The upper limit of a ground alone is open where the pulls do not tell
// whether anything moved.
func TestAGroundThatMayNotHaveGivenWay(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	f.history(t)
	set := f.fitted(t)
	require.NotEmpty(t, set.Fit.Speed.Grounds)
	set.Fit.Speed.Grounds[0].High = nil
	_, err := f.store.SaveSet(t.Context(), set)
	require.NoError(t, err)
	require.Contains(t, f.said(t, "/multipliers?set=river+bar+2026%401"), "the pulls leave open whether anything moved")
}

// TestHoldSetsAgainstEachOther compares a kept set with another that was
// chosen.
func TestHoldSetsAgainstEachOther(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	f.history(t)
	require.Equal(t, http.StatusSeeOther, f.post(t, "/multipliers/keep", form("name", "river bar 2026")).StatusCode)
	require.Equal(t, http.StatusSeeOther, f.post(t, "/multipliers/assume", form("multiplier", "2.5", "source", "our handbook", "name", "handbook")).StatusCode)
	require.Equal(t, http.StatusSeeOther, f.post(t, "/multipliers/assume", form("multiplier", "4", "source", "our handbook", "name", "handbook", "note", "the new one", "instead", "yes")).StatusCode)
	latest, err := f.store.Set(t.Context(), "handbook", 0)
	require.NoError(t, err)
	assert.Len(t, latest.Assumed, 1, "the one before was the only other")
	assert.Equal(t, "the new one", latest.Note)
	kept, err := f.store.Set(t.Context(), "river bar 2026", 1)
	require.NoError(t, err)
	said := f.said(t, "/multipliers?set=river+bar+2026@1&beside=handbook@2")
	for _, d := range shock.Compare(latest, kept) {
		says(t, strings.ToLower(said), strings.Join(strings.Fields(d.Words), " "))
	}
	assert.Equal(t, http.StatusNotFound, f.ask("GET", "/multipliers?beside=nothing@3", nil, nil).StatusCode)
}

// TestFiguresAsFiles takes every figure along, as the command plot writes them.
func TestFiguresAsFiles(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	f.history(t)
	for _, kind := range []string{"speed", "residuals", "classes"} {
		svg := f.ask("GET", "/multipliers/figures/"+kind+"?set=log&as=svg", nil, nil)
		assert.Equal(t, "image/svg+xml", svg.Header.Get("Content-Type"))
		assert.Contains(t, svg.Header.Get("Content-Disposition"), kind+".svg")
		assert.Contains(t, read(t, svg), "<svg ")
		png, err := png.DecodeConfig(f.ask("GET", "/multipliers/figures/"+kind+"?set=log&as=png", nil, nil).Body)
		require.NoError(t, err)
		assert.Greater(t, png.Width, 500)
	}
	assert.Equal(t, http.StatusNotFound, f.ask("GET", "/multipliers/figures/speed?as=gif", nil, nil).StatusCode)
	assert.Equal(t, http.StatusNotFound, f.ask("GET", "/multipliers/figures/moods?as=png", nil, nil).StatusCode)
}

// TestNextWithWhatTheClubHas plans a day with other speeds than those logged.
func TestNextWithWhatTheClubHas(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	f.history(t)
	offer := form("limit", "60 kN", "ground", "silt", "with-speed", "3 km/h, 4 km/h", "with-ground", "silt", "with-strap", "recovery strap, 9 m, 80 kN\r\n", "puller-mass", "3 t", "stuck-mass", "2.5 t", "assumed", "4")
	said := f.said(t, "/multipliers/next?"+offer.Encode())
	says(t, said, "The day")
	assert.Regexp(t, `silt, recovery strap, [34] km/h`, said)
	assert.NotRegexp(t, `recovery strap, (5|6|7|8|9|10)(\.\d+)? km/h Peak expected`, said)
	for field, wrong := range map[string]string{"with-speed": "3 km/h, fast", "with-strap": "red rope, 9 m", "puller-mass": "3", "assumed": "0"} {
		offer := form("limit", "60 kN", field, wrong)
		assert.Contains(t, f.page(t, "/multipliers/next?"+offer.Encode()), `aria-describedby="`+field+`-say" aria-invalid="true"`, field)
	}
}

// massless is one more line for a table of pulls, its last pull without the mass
// of the stuck vehicle.
func massless(table string) string {
	lines := strings.Split(strings.TrimSuffix(table, "\n"), "\n")
	names, values := strings.Split(lines[0], ","), strings.Split(lines[len(lines)-1], ",")
	for i, name := range names {
		if strings.HasPrefix(name, "reference") {
			values[i] = ""
		}
	}
	return strings.Join(values, ",") + "\n"
}

// TestBringInASet looks at what a table of pulls says that was logged elsewhere,
// and at a set as another laptop gives it, and keeps them then.
func TestBringInASet(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	f.history(t)
	table, want := f.page(t, "/files/pulls.csv"), f.fitted(t)
	other := newFixture(t)
	bring := func(name, file string) (*http.Response, string) {
		return uploaded(t, other, "/multipliers/bring", "file", map[string]string{"name": name, "note": "from the other laptop"}, map[string][]byte{"in": []byte(file)})
	}
	// keep presses the button of the page that shows what would be kept.
	keep := func(page string) (*http.Response, string) {
		sent := map[string]string{"do": "keep"}
		for _, field := range []string{"name", "note", "decimal", "text"} {
			sent[field] = hidden(t, page, field)
		}
		return uploaded(t, other, "/multipliers/bring", "file", sent, nil)
	}
	assert.Contains(t, other.page(t, "/files"), `href="/multipliers?bring=yes#bring"`)
	assert.Contains(t, other.page(t, "/multipliers?bring=yes"), `<details class="more" id="bring" open>`)
	before := other.dump(t)
	res, body := bring("their river", table+massless(table))
	require.Equal(t, http.StatusOK, res.StatusCode, visible(body))
	assert.Equal(t, before, other.dump(t), "nothing is kept before somebody says so")
	shown := strings.Join(strings.Fields(visible(body)), " ")
	pulls, days := want.Behind()
	for _, say := range []string{
		"What their river would say It is not kept yet, and nothing is planned with it.", fmt.Sprintf("It rests on %d pulls on %d days.", pulls, days),
		"Against rule of thumb", fmt.Sprintf("Left out Line %d No reference mass", strings.Count(table, "\n")+1),
	} {
		says(t, shown, say)
	}
	for _, c := range want.Fit.Classes {
		says(t, shown, fmt.Sprintf("plan with %.2f", *c.Upper))
	}
	res, body = keep(body)
	require.Equal(t, http.StatusSeeOther, res.StatusCode, visible(body))
	said := other.said(t, res.Header.Get("Location"))
	says(t, said, "Nothing is planned with it until you choose it.")
	kept, err := other.store.Set(t.Context(), "their river", 0)
	require.NoError(t, err)
	assert.Equal(t, "from the other laptop", kept.Note)
	require.Len(t, kept.Fit.Classes, len(want.Fit.Classes))
	for i, c := range kept.Fit.Classes {
		require.NotNil(t, c.Upper)
		assert.InEpsilon(t, *want.Fit.Classes[i].Upper, *c.Upper, 1e-3)
		says(t, said, fmt.Sprintf("plan with %.2f", *c.Upper))
	}

	res, body = bring("their river", other.page(t, "/api/multipliers?set=their+river@1"))
	require.Equal(t, http.StatusOK, res.StatusCode, visible(body))
	says(t, strings.Join(strings.Fields(visible(body)), " "), "There is their river, version 1 already: kept now, this becomes the next version of that name, unless it says the same.")
	res, body = bring("once more", other.page(t, "/api/multipliers?set=their+river@1"))
	require.Equal(t, http.StatusOK, res.StatusCode, visible(body))
	res, body = keep(body)
	require.Equal(t, http.StatusSeeOther, res.StatusCode, visible(body))
	again, err := other.store.Set(t.Context(), "once more", 0)
	require.NoError(t, err)
	assert.NotContains(t, other.page(t, "/multipliers/next"), "and not from the set in use")
	_, err = other.store.PlanWith(t.Context(), "once more", 1)
	require.NoError(t, err)
	says(t, other.said(t, "/multipliers/next"), "The day is planned from the pulls of the log as they are today, and not from the set in use, once more, version 1.")
	assert.Equal(t, kept.Fit.Classes, again.Fit.Classes)

	for file, say := range map[string]string{
		"":                                  "",
		"day,kind\n2026-05-02,x\n":          "there is no column",
		"{}":                                "The set was not kept.",
		"{\n\"name\": \"x\",\n\"whom\": 1}": "Line 3",
		"day;kind;ground;strap;peak_N;reference_kg\n2026-05-02;kinetic;mud;red;31200,5;3100\n": "Line 2: a number has a comma in it. Say beside the file",
		"day,kind,ground,strap,peak_N,reference_kg\n2026-05-02,kinetic,mud,red,31200,\n":       "None of its pulls can be used: line 2:",
		"day,kind,ground,strap,peak_N,reference_kg\n2026-05-02,kinetic,mud,red,3t,3100\n":      "Line 2",
	} {
		res, body := bring("refused", file)
		assert.Equal(t, http.StatusBadRequest, res.StatusCode, file)
		says(t, strings.Join(strings.Fields(visible(body)), " "), say)
	}
	_, err = other.store.Set(t.Context(), "refused", 0)
	assert.ErrorIs(t, err, store.ErrNotFound)
}

// TestCheckIsNear: a rule of thumb is held against the pulls by a link on the
// first page, and by one at the top of the page of multipliers.
func TestCheckIsNear(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	assert.Contains(t, f.page(t, "/"), `<a href="/multipliers#check"><b>Is a rule of thumb supported by your pulls?</b>`)
	page := f.page(t, "/multipliers")
	assert.Contains(t, page, `<h2 id="check">`)
	assert.Less(t, strings.Index(page, `<a href="#check">`), strings.Index(page, "<h2"), "above everything else")
	assert.Contains(t, page, `<a href="#check">`)
}
