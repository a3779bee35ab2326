package web_test

import (
	"net/http/httptest"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/dashboards/web/webtest"
)

// TestPlanInBrowser plans a pull as a person does: choose the rig, see what it
// fills in, type the rest, be told what is wrong, correct it, read the answer,
// keep it.
func TestPlanInBrowser(t *testing.T) {
	needAssets(t)
	b := webtest.Start(t)
	f := newFixture(t)
	srv := httptest.NewServer(f.pages)
	defer srv.Close()
	b.Resize(webtest.Laptop())
	b.Open(srv.URL + "/plan")
	b.Click(`.answers a[href="/plan/kinetic"]`)
	b.Await(`document.querySelector("#rig") !== null`)
	value := func(id string) string { return webtest.Eval[string](b, `document.querySelector("#`+id+`").value`) }
	b.Choose("#rig", "single strap")
	assert.Equal(t, []string{"2800 kg", "2800 kg", "9 m", "80 kN"}, []string{value("puller-mass"), value("stuck-mass"), value("length"), value("mbs")})
	b.Type("#speed", "8")
	b.Type("#elongation", "20%\r")
	b.Await(`document.querySelector("#speed-say").textContent.includes("a bare number is refused")`)
	assert.Equal(t, "true", webtest.Eval[string](b, `document.querySelector("#speed").getAttribute("aria-invalid")`))
	b.Type("#speed", "8 km/h\r")
	b.Await(`document.querySelector("#answer") !== null`)
	assert.Regexp(t, `^82\.4 kN\s+\(expected [\d.]+ kN\)$`, b.Text("#answer .peak"))
	assert.Regexp(t, `^blue strap 9 m: over breaking strength\.`, b.Text("#answer .verdicts .weakest"))
	assert.Contains(t, webtest.Eval[string](b, "location.search"), "speed=8+km%2Fh", "a plan is a link")

	b.Click(`form.keep button`)
	b.Await(`location.pathname.startsWith("/plan/kept/")`)
	assert.Equal(t, "Heron pulls Otter at 8 km/h", b.Text("h1"))
	assert.Regexp(t, `^82\.4 kN`, b.Text("#answer .peak"))

	table := filepath.Join(t.TempDir(), "curve.csv")
	require.NoError(t, os.WriteFile(table, []byte("stretch_m,force_kN\n0.5,30\n1.5,20\n"), 0o600))
	b.Open(srv.URL + "/plan/kinetic?puller-mass=3t&stuck-mass=3t&speed=8km/h")
	b.ChooseFile("#curve ~ .reads input", table)
	b.Await(`document.querySelector("#curve").value.endsWith("1.5,20")`)
	b.Click(`form.sheet button`)
	b.Await(`document.querySelector("#curve-say")?.textContent.startsWith("Line 3: stretch and force must both rise")`)
	assert.Empty(t, b.Errors())
	assert.Empty(t, b.Strangers())
}

// unlabelled lists the fields of a page that have no label, so that nobody who
// does not see it knows what they are for.
const unlabelled = `[...document.querySelectorAll("input, select, textarea")]
	.filter((e) => e.type !== "hidden" && (e.labels?.length ?? 0) === 0).map((e) => e.outerHTML.slice(0, 80))`

// TestMultipliersInBrowser fits, keeps and chooses a set, and looks at the
// charts.
func TestMultipliersInBrowser(t *testing.T) {
	needAssets(t)
	b := webtest.Start(t)
	f := newFixture(t)
	f.history(t)
	srv := httptest.NewServer(f.pages)
	defer srv.Close()
	b.Resize(webtest.Laptop())
	b.Open(srv.URL + "/multipliers")
	b.Type("#keep-name", "river bar 2026\r")
	b.Await(`location.search.includes("river+bar+2026")`)
	b.Click(`form[action="/multipliers/use"] button`)
	b.Await(`document.querySelector("h2").textContent.includes("river bar 2026, version 1, in use")`)
	points := func(kind string) string {
		return `document.querySelector('[data-figure="` + kind + `"] [data-part="plot"]')?.dataset.points`
	}
	for kind, want := range map[string]string{"classes": "25", "speed": "24", "residuals": "24"} {
		b.Await(points(kind) + ` !== undefined`)
		assert.Equal(t, want, webtest.Eval[string](b, points(kind)), kind)
	}
	assert.Equal(t, "○ silt   □ wet sand", webtest.Eval[string](b, `document.querySelector('[data-figure="speed"] [data-part="key"]').textContent`))
	assert.Empty(t, webtest.Eval[[]string](b, unlabelled))
	b.Shoot("multipliers-kept-laptop")
	require.Empty(t, b.Errors())
	assert.Empty(t, b.Strangers())
}
