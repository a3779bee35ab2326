package web_test

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/calibrate"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/dashboards/web"
	"tautlog/dashboards/web/webtest"
	"tautlog/ingest/store"
)

// emptyClub is a store with a cell and nothing else.
func emptyClub(t *testing.T) *fixture {
	t.Helper()
	s, err := store.Open(t.TempDir(), store.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	f := &fixture{store: s}
	f.cell, err = s.SaveCell(t.Context(), store.Cell{Name: "River-1", Curve: calibrate.Curve{Coefficients: []float64{0, 1}}, Capacity: 100_000, Rate: 1000})
	require.NoError(t, err)
	f.pages, err = web.New(web.Config{Store: s, Zone: time.UTC, Now: func() time.Time { return start }})
	require.NoError(t, err)
	return f
}

func firstRigForm() url.Values {
	return url.Values{
		"puller": {"Heron"}, "puller-mass": {"3.1t"}, "stuck": {"Otter"}, "stuck-mass": {"2.8t"}, "who": {"A. Keeper"},
		"g1-kind": {"recovery point"}, "g1-name": {"rear point"}, "g1-value": {"50kN"}, "g1-basis": {"WLL"},
		"g2-kind": {"bow shackle"}, "g2-value": {"4.75t"}, "g2-basis": {"WLL"},
		"g3-kind": {"load cell"}, "g3-name": {"River-1"}, "g3-value": {"100kN"}, "g3-basis": {"WLL"},
		"g4-kind": {"recovery strap"}, "g4-value": {"8000 kg"}, "g4-basis": {"MBS"}, "g4-factor": {"2"},
		"g5-kind": {"bow shackle"}, "g5-value": {"4.75t"}, "g5-basis": {"WLL"},
		"g6-kind": {"recovery point"}, "g6-name": {"front point"}, "g6-value": {"35kN"}, "g6-basis": {"unknown"},
	}
}

// TestFirstRig enters a whole rig in one form: it is on the line then, and all
// of it is in the register.
func TestFirstRig(t *testing.T) {
	t.Parallel()
	f := emptyClub(t)
	assert.Contains(t, f.page(t, "/"), `href="/rigs/first"`)
	before := f.dump(t)
	for field, c := range map[string]struct{ value, say string }{
		"puller":      {"", "Give the vehicle a name."},
		"stuck":       {"Heron", "Both vehicles have the same name."},
		"stuck-mass":  {"", "The mass is needed."},
		"puller-mass": {"heavy", "heavy"},
		"g1-basis":    {"", "Choose what the number means."},
		"g2-value":    {"4.75", "4.75"},
		"g3-name":     {"rear point", "Something else in this rig has that name."},
		"g4-kind":     {"bungee", "Choose from the list."},
		"g4-factor":   {"0.5", "A design factor is 1 or more."},
	} {
		form := firstRigForm()
		form.Set(field, c.value)
		res := f.post(t, "/rigs/first", form)
		page := read(t, res)
		assert.Equal(t, http.StatusUnprocessableEntity, res.StatusCode, field)
		assert.Contains(t, spoken(page), c.say, field)
		assert.Contains(t, page, `value="front point"`, "%s: what was typed stays", field)
		assert.Contains(t, page, `<li><a href="#`+field+`">`, "the way to it")
		assert.Equal(t, 1, strings.Count(page, " autofocus"), "%s: the page opens there", field)
	}
	both := firstRigForm()
	both.Set("g1-value", "50")
	both.Del("g1-basis")
	page := spoken(read(t, f.post(t, "/rigs/first", both)))
	assert.Contains(t, page, "a bare number is refused")
	assert.Contains(t, page, "Choose what the number means.", "both are told at once")
	assert.Equal(t, before, f.dump(t), "what was refused changed nothing")

	res := f.post(t, "/rigs/first", firstRigForm())
	assert.Equal(t, http.StatusSeeOther, res.StatusCode)
	assert.Equal(t, "/line?cell=River-1", res.Header.Get("Location"))
	setup, err := f.store.Setup(t.Context(), f.cell.ID)
	require.NoError(t, err)
	d, err := f.store.Rig(t.Context(), setup.Rig)
	require.NoError(t, err)
	assert.Equal(t, "Heron pulls Otter", d.Value.Name)
	var names []string
	for _, u := range d.Value.Uses() {
		names = append(names, u.Item.Name)
	}
	assert.Equal(t, []string{"rear point", "bow shackle", "River-1", "recovery strap", "bow shackle 2", "front point"}, names)
	items, err := f.store.Items(t.Context())
	require.NoError(t, err)
	assert.Len(t, items, 6)
	point := d.Value.Chain[0].Use.Item
	assert.Equal(t, "Heron", point.Vehicle)
	assert.Equal(t, []gear.Rating{{Value: 50_000, Basis: gear.WLL}}, point.Ratings)
	half := 2.0 // 8000 kg on a strap are the weight of that mass: 9.80665 m/s² (3rd CGPM, 1901)
	assert.Equal(t, []gear.Rating{{Value: 8000 * 9.80665, Basis: gear.MBS, DesignFactor: &half}}, d.Value.Chain[3].Use.Item.Ratings)
	assert.Empty(t, d.Value.Validate())
	assert.IsType(t, rig.Rig{}, d.Value)

	again := firstRigForm() // of what is there nothing is written over
	again.Set("g1-value", "60kN")
	after := f.dump(t)
	res = f.post(t, "/rigs/first", again)
	assert.Contains(t, spoken(read(t, res)), "There is rear point already, with something else in it.")
	assert.Equal(t, after, f.dump(t))
}

// TestFirstRigOfACell puts the rig on the line of the cell that hangs in it, of
// whichever it is, and offers what is known of that cell as it is.
func TestFirstRigOfACell(t *testing.T) {
	t.Parallel()
	f := emptyClub(t)
	second, err := f.store.SaveCell(t.Context(), store.Cell{Name: "River-2", Curve: calibrate.Curve{Coefficients: []float64{0, 1}}, Capacity: 50_000, Rate: 1000})
	require.NoError(t, err)
	res := f.ask("GET", "/rigs/first?cell=River-2", nil, func(r *http.Request) { r.AddCookie(&http.Cookie{Name: "unit", Value: "kgf"}) })
	page := read(t, res)
	assert.Contains(t, spoken(page), "River-2 is being recorded.")
	assert.Contains(t, page, `name="g3-name" value="River-2"`)
	assert.Contains(t, page, `name="g3-value" value="50 kN"`, "what is kept of it is not rounded to another unit")
	form := firstRigForm()
	form.Set("g3-name", "River-2")
	form.Set("g3-value", "50 kN")
	res = f.post(t, "/rigs/first", form)
	assert.Equal(t, "/line?cell=River-2", res.Header.Get("Location"))
	setup, err := f.store.Setup(t.Context(), second.ID)
	require.NoError(t, err)
	assert.NotZero(t, setup.Rig)
	_, err = f.store.Setup(t.Context(), f.cell.ID)
	assert.ErrorIs(t, err, store.ErrNotFound)
}

// TestFirstRigWithoutNames: nobody has to name a thing that is one of its kind,
// nor the point of a vehicle.
func TestFirstRigWithoutNames(t *testing.T) {
	t.Parallel()
	f := emptyClub(t)
	form := firstRigForm()
	form.Del("g1-name")
	form.Del("g6-name")
	assert.Equal(t, http.StatusSeeOther, f.post(t, "/rigs/first", form).StatusCode)
	items, err := f.store.Items(t.Context())
	require.NoError(t, err)
	vehicles := map[string]string{}
	for _, d := range items {
		vehicles[d.Value.Name] = d.Value.Vehicle
	}
	assert.Equal(t, map[string]string{
		"Heron recovery point": "Heron", "bow shackle": "", "River-1": "", "recovery strap": "", "bow shackle 2": "", "Otter recovery point": "Otter",
	}, vehicles)
}

// TestFirstRigIsNear: wherever somebody looks for a rig before there is one, the
// page that enters everything at once is one tap away; afterwards it is not.
func TestFirstRigIsNear(t *testing.T) {
	t.Parallel()
	f := emptyClub(t)
	where := []string{"/", "/line", "/rigs", "/rigs/new", "/gear"}
	for _, p := range where {
		assert.Contains(t, f.page(t, p), `href="/rigs/first"`, p)
	}
	f.post(t, "/rigs/first", firstRigForm())
	for _, p := range where {
		assert.NotContains(t, f.page(t, p), `href="/rigs/first"`, p)
	}
}

// TestFirstRigInBrowser fills the form in on a phone, with the fewest taps.
func TestFirstRigInBrowser(t *testing.T) {
	needAssets(t)
	b := webtest.Start(t)
	b.Resize(webtest.Phone())
	f := emptyClub(t)
	srv := httptest.NewServer(f.pages)
	t.Cleanup(srv.Close)
	b.Open(srv.URL + "/")
	b.Click(`a[href="/rigs/first"]`)
	b.Await(`document.querySelector("#puller") !== null`)
	assert.Empty(t, barriers(b, axeSource(t)))
	assert.LessOrEqual(t, webtest.Eval[int64](b, "document.documentElement.scrollWidth"), webtest.Phone().Width)
	b.Shoot("first-rig-phone")
	for _, name := range []string{"puller", "puller-mass", "stuck", "stuck-mass", "g1-name", "g1-value", "g2-value", "g4-value", "g5-value", "g6-value"} {
		b.Type("#"+name, firstRigForm().Get(name))
	}
	factorSeen := `document.querySelector("#g4-factor").checkVisibility()`
	assert.False(t, webtest.Eval[bool](b, factorSeen), "asked only of an MBS")
	for _, name := range []string{"g1-basis", "g2-basis", "g4-basis", "g5-basis"} {
		b.Click(`#` + name + ` input[value="` + firstRigForm().Get(name) + `"]`)
	}
	b.Await(factorSeen)
	b.Click(`form[action="/rigs/first"] button`)
	b.Await(`document.readyState === "complete" && document.activeElement.name === "g6-basis"`) // the page opens where something is missing
	assert.Empty(t, barriers(b, axeSource(t)))
	b.Click(`#g6-basis input[value="unknown"]`)
	b.Click(`form[action="/rigs/first"] button`)
	b.Await(`location.pathname === "/line" && document.readyState === "complete"`)
	b.Shoot("first-rig-line-phone")
	assert.Contains(t, b.Text("main"), "Heron pulls Otter")
	assert.Empty(t, b.Errors())
}
