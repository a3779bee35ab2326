package web_test

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/gear"
	"tautlog/calc/unit"
	"tautlog/ingest/store"
)

// read gives a planning page as a person reads it, with the query as a link.
func (f *fixture) plan(t *testing.T, kind string, q url.Values) (page, said string) {
	t.Helper()
	page = f.page(t, "/plan/"+kind+"?"+q.Encode())
	return page, strings.Join(strings.Fields(visible(page)), " ")
}

// says looks for a sentence, and shows only that where it is missing.
func says(t *testing.T, said, sentence string) {
	t.Helper()
	if !strings.Contains(said, sentence) {
		t.Errorf("the page does not say: %s\nit says: %s", sentence, near(said, sentence))
	}
}

// near is what a page says from where it comes closest to a sentence.
func near(said, sentence string) string {
	for n := len(sentence) - 1; n > 4; n-- {
		if i := strings.Index(said, sentence[:n]); i >= 0 {
			return said[i:min(len(said), i+2*len(sentence))]
		}
	}
	return "nothing like it"
}

func form(pairs ...string) url.Values {
	v := url.Values{}
	for i := 0; i < len(pairs); i += 2 {
		v.Set(pairs[i], pairs[i+1])
	}
	return v
}

// TestSteadyPlan plans by hand arithmetic: 3200 kg weigh 31.38 kN; the army
// manuals' rule counts that once for a vehicle mired to the wheels; a slope of
// 10° adds its sine, 0.17365.
func TestSteadyPlan(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	page, said := f.plan(t, "steady", form("stuck-mass", "3.2 t", "mire", "wheel", "grade", "10deg"))
	for _, say := range []string{
		"36.8 kN That is the pull of the line to plan with", // 31.381 · (1 + 0.17365)
		"A stuck vehicle of 3.2 t, which weighs 31.4 kN, on ground that was not named, mired to the wheels, up a slope of 10°.",
		"It rests on a rule from memory", "FM 4-30.31", "Anchor 36.8 kN, where it holds 1 line part",
	} {
		says(t, said, say)
	}
	assert.Less(t, strings.Index(page, "36.8 kN"), strings.Index(page, "Keep people well away"), "cautions stand under the number")

	_, said = f.plan(t, "steady", form("stuck-mass", "3.2 t", "mire", "wheel", "rig", "single strap", "parts", "", "redirects", "60deg"))
	for _, say := range []string{
		"bow shackle 13: over rating. It would carry 34.5 kN, 108 % of its 31.9 kN WLL.", // 31.381 · 1.1 for the sheave
		"With more than 31.9 kN on the line, bow shackle 13 is over its limit first",
		"Redirect 59.8 kN on the block at 60°: 1.73 times the line",
	} {
		says(t, said, say)
	}
}

// TestForceOnARig holds a given force against every item.
func TestForceOnARig(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	page, said := f.plan(t, "force", form("rig", "single strap", "force", "20kN..35kN"))
	says(t, said, "35 kN 20.0 to 35.0 kN (middle 27.5) That is the force on the line of single strap")
	says(t, said, "bow shackle 13: over rating. It would carry 27.5 kN, 86 % of its 31.9 kN WLL. At the upper end it would carry 35 kN, 110 % of its limit, and be over rating.")
	assert.Equal(t, 2, strings.Count(page, `<svg xmlns="http://www.w3.org/2000/svg" class="chain `))
	assert.NotContains(t, page, "<b>point</b>", "a name became markup")
}

// TestPlanRefusals says beside the field what is wrong and what to write.
func TestPlanRefusals(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	cases := map[string]struct {
		kind  string
		form  url.Values
		field string
		say   string
	}{
		"bare number":           {"steady", form("stuck-mass", "3200", "mire", "wheel"), "stuck-mass", "a bare number is refused, add one of kg, t"},
		"no mass":               {"steady", form("mire", "wheel"), "stuck-mass", "The mass is needed. Write it with its unit, as 3.2 t."},
		"mass of zero":          {"steady", form("stuck-mass", "0kg"), "stuck-mass", "A mass of zero makes no sense here."},
		"mass in metres":        {"steady", form("stuck-mass", "3 m"), "stuck-mass", "unknown unit"},
		"nothing to stand on":   {"steady", form("stuck-mass", "3 t"), "surface", "What does it stand on?"},
		"surface of no table":   {"steady", form("stuck-mass", "3 t", "surface", "custard"), "surface", "custard"},
		"mire of no rule":       {"steady", form("stuck-mass", "3 t", "mire", "deep"), "mire", "deep"},
		"slope below zero":      {"steady", form("stuck-mass", "3 t", "mire", "cab", "grade", "-4deg"), "grade", "cannot be below zero"},
		"parts by letters":      {"steady", form("stuck-mass", "3 t", "mire", "cab", "parts", "two"), "parts", "is not a number from 1 to 16"},
		"redirect without unit": {"steady", form("stuck-mass", "3 t", "mire", "cab", "redirects", "60deg, 90"), "redirects", "bare number"},
		"range backwards":       {"steady", form("stuck-mass", "3 t", "mire", "cab", "drag", "5kN..3kN"), "drag", "the low end comes first"},
		"measured by nobody":    {"steady", form("stuck-mass", "3 t", "own-mire", "80%"), "own-from", "Say where and when"},
		"too many sheaves":      {"steady", form("stuck-mass", "3 t", "mire", "cab", "sheaves", "99"), "sheaves", "is not a number from 0 to 32"},
		"rig of nobody":         {"steady", form("stuck-mass", "3 t", "mire", "cab", "rig", "ours"), "rig", "There is no rig"},
		"force on nothing":      {"force", form("force", "3 kN"), "rig", "Choose the rig"},
		"no force":              {"force", form("rig", "single strap"), "force", "The force is needed"},
		"unknown kind":          {"force", form("rig", "single strap", "force", "1kN", "kind", "jerk"), "kind", "is not a kind of pull"},
		"markup as a mass":      {"steady", form("stuck-mass", "<script>"), "stuck-mass", "is not a mass"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			page, said := f.plan(t, c.kind, c.form)
			says(t, said, c.say)
			assert.Contains(t, page, `aria-describedby="`+c.field+`-say" aria-invalid="true"`)
			says(t, said, "Nothing was worked out yet")
			assert.NotContains(t, page, `id="answer"`)
			assert.NotContains(t, page, "<script>")
			for name := range c.form {
				assert.Contains(t, page, `name="`+name+`"`, "the form keeps what was typed")
			}
		})
	}
	assert.Equal(t, http.StatusNotFound, f.ask("GET", "/plan/wishes", nil, nil).StatusCode)
}

// TestVehicleFillsItsMass chooses a vehicle and leaves the mass empty, as a
// page without its script does.
func TestVehicleFillsItsMass(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	weighed, gvm := unit.Mass(2950), unit.Mass(3100)
	_, err := f.store.SaveVehicle(t.Context(), store.Document[gear.Vehicle]{Value: gear.Vehicle{ID: "h", Name: "Heron", GVM: &gvm, Weighed: &weighed}})
	require.NoError(t, err)
	page, said := f.plan(t, "steady", form("stuck", "Heron", "mire", "wheel"))
	says(t, said, "A stuck vehicle of 2.95 t")
	assert.Contains(t, page, `name="stuck-mass" value="2950 kg"`, "what was filled in is seen")
	_, said = f.plan(t, "steady", form("stuck", "Heron", "stuck-mass", "4t", "mire", "wheel"))
	says(t, said, "A stuck vehicle of 4 t")
}

// TestManyRigs chooses one of more rigs than a form brings along: the script
// is told where to ask what it fills in, and the server fills in the same.
func TestManyRigs(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	assert.NotContains(t, f.page(t, "/plan/kinetic"), "data-ask")
	var reg store.Register
	for i := range 100 {
		g := strapRig()
		g.Name = fmt.Sprintf("rig %d", i)
		reg.Rigs = append(reg.Rigs, g)
	}
	_, err := f.store.SaveRegister(t.Context(), reg, false)
	require.NoError(t, err)
	page := f.page(t, "/plan/kinetic?rig=rig+7")
	assert.Contains(t, page, `data-ask="/api/rigs/fills?name="`)
	assert.NotContains(t, page, `<option value="rig 7" selected data-fills`)
	assert.Regexp(t, `name="puller-mass"[^>]*value="2800 kg"`, page)
	assert.JSONEq(t, `{"pulling":"Heron","stuck":"Otter","puller-mass":"2800 kg","stuck-mass":"2800 kg","strap":"recovery strap","length":"9 m","mbs":"80 kN"}`, f.page(t, "/api/rigs/fills?name=rig+7"))
	assert.Equal(t, http.StatusNotFound, f.ask("GET", "/api/rigs/fills?name=none", nil, nil).StatusCode)
}
