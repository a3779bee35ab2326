//go:build unix

package web_test

import (
	"math"
	"net/http"
	"net/url"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/gear"
	"tautlog/dashboards/people"
	"tautlog/dashboards/web/webtest"
	"tautlog/ingest/needs"
	"tautlog/ingest/store"
)

// lastToken is that of the forms of a page itself, behind those of its frame's
// head.
func lastToken(t *testing.T, page string) string {
	t.Helper()
	_, main, ok := strings.Cut(page, "<main")
	require.True(t, ok)
	return tokenFrom(t, main)
}

// beside makes a store beside that of a fixture, with one vehicle in it.
func (f *fixture) beside(t *testing.T, vehicle string) (name string) {
	t.Helper()
	dir := f.store.Dir() + "-other"
	s, err := store.Open(dir, store.Options{})
	require.NoError(t, err)
	_, err = s.SaveVehicle(t.Context(), document(gear.Vehicle{Name: vehicle}))
	require.NoError(t, err)
	require.NoError(t, s.Close())
	return filepath.Base(dir)
}

// TestOtherStoreIsApart: only the browser that asked sees the other store, what
// is done there comes into no other, and a form of one store changes no other.
func TestOtherStoreIsApart(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	name := f.beside(t, "Newt")
	before := f.dump(t)
	page := f.page(t, "/kept")
	assert.Contains(t, page, "Show "+name)
	assert.NotContains(t, page, "Show "+filepath.Base(f.store.Dir())+"<", "the own one is no other")
	own := url.Values{"token": {f.token(t)}, "name": {name}}
	for _, wrong := range []string{"", "..", "../" + name, filepath.Base(f.store.Dir()), "nowhere"} {
		res := f.ask("POST", "/kept/open", url.Values{"token": own["token"], "name": {wrong}}, nil)
		assert.Equal(t, http.StatusNotFound, res.StatusCode, wrong)
		assert.Empty(t, res.Cookies(), wrong)
	}
	res := f.ask("POST", "/kept/open", own, nil)
	require.Equal(t, http.StatusSeeOther, res.StatusCode, read(t, res))
	cookie := res.Cookies()[0]
	sees := func(r *http.Request) { r.AddCookie(cookie) }
	see := func(where string) string { return read(t, f.ask("GET", where, nil, sees)) }

	for _, where := range []string{"/", "/days", "/pulls", "/vehicles", "/cells", "/guide"} {
		page := see(where)
		assert.Contains(t, page, "You look at "+name, where)
		assert.NotContains(t, page, "40.00 kN", where)
		assert.NotContains(t, page, "data-live", where)
		assert.NotContains(t, f.page(t, where), "You look at", "%s as others see it", where)
	}
	assert.Contains(t, see("/vehicles"), "Newt")
	assert.Contains(t, see("/kept"), name+" is shown on this device.")
	assert.Contains(t, see("/people"), "People", "who is signed in is asked of the own store")

	add := func(token, vehicle string, how func(*http.Request)) int {
		return f.ask("POST", "/vehicles/new", url.Values{"token": {token}, "name": {vehicle}, "gvm": {"2 t"}}, how).StatusCode
	}
	theirs := lastToken(t, see("/vehicles/new"))
	assert.Equal(t, http.StatusForbidden, add(own.Get("token"), "Mole", sees), "a form of the own store, in a window that was left open")
	assert.Equal(t, http.StatusSeeOther, add(theirs, "Mole", sees))
	assert.Equal(t, before, f.dump(t))

	res = f.ask("POST", "/kept/back", own, sees)
	require.Equal(t, http.StatusSeeOther, res.StatusCode)
	assert.Negative(t, res.Cookies()[0].MaxAge)
	assert.Equal(t, http.StatusForbidden, add(theirs, "Otter", sees), "a form of a store that is looked at no more")
	assert.Contains(t, see("/pulls"), "40.00 kN", "an old cookie shows the own store")
	assert.Equal(t, before, f.dump(t))

	there, err := store.OpenReader(f.store.Dir() + "-other")
	require.NoError(t, err)
	defer there.Close()
	all, err := there.Vehicles(t.Context())
	require.NoError(t, err)
	assert.Len(t, all, 2)
}

// TestOtherStoreOfAViewer: a viewer opens no store, and one on whose device an
// operator has opened one gets back without closing it for others.
func TestOtherStoreOfAViewer(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	viewer := signedIn(t, f.open(t), "Jun", people.Viewer)
	name := f.beside(t, "Newt")
	res := f.ask("POST", "/kept/open", url.Values{"token": {f.token(t)}, "name": {name}}, nil)
	require.Equal(t, http.StatusSeeOther, res.StatusCode)
	cookie := res.Cookies()[0]
	phone := func(r *http.Request) { fromPhone(viewer)(r); r.AddCookie(cookie) }
	page := read(t, f.ask("GET", "/vehicles", nil, phone))
	require.Contains(t, page, "Newt")
	token := url.Values{"token": {tokenFrom(t, page)}, "name": {name}}
	assert.Equal(t, http.StatusForbidden, f.ask("POST", "/kept/open", token, phone).StatusCode)
	res = f.ask("POST", "/kept/back", token, phone)
	require.Equal(t, http.StatusSeeOther, res.StatusCode)
	assert.Negative(t, res.Cookies()[0].MaxAge)
	assert.Contains(t, read(t, f.ask("GET", "/vehicles", nil, func(r *http.Request) { r.AddCookie(cookie) })), "Newt", "the operator sees it yet")
}

// TestBroughtBackInBrowser goes the way of a club whose laptop broke, while a
// cell is recorded: the saved file is brought back on the page, looked at and
// changed there, and one press leads back. No reading is lost meanwhile.
func TestBroughtBackInBrowser(t *testing.T) {
	needAssets(t)
	b := webtest.Start(t)
	old := newFixture(t)
	saved := filepath.Join(t.TempDir(), "club.tautlog")
	require.NoError(t, old.store.Backup(t.Context(), saved))
	st := newStation(t)
	own := filepath.Base(st.store.Dir())
	name := "back-" + own + "-" + strconv.FormatInt(time.Now().UnixNano(), 36)
	axe := axeSource(t)
	recorded := func() int {
		t.Helper()
		return len(readingsOf(t, st.store, st.cell.ID))
	}
	for _, size := range []webtest.Size{webtest.Phone(), webtest.Laptop()} {
		b.Resize(size)
		b.Open(st.url("/kept"))
		if size == webtest.Phone() {
			b.Type("#name", name)
			b.ChooseFile("#file", saved)
			b.Click(`form[action="/kept/restore"] button`)
			b.Await(`document.querySelector('[role="status"]')?.textContent.includes("checked")`)
		}
		b.Shoot("kept-others-" + size.Name)
		before := recorded()
		b.Click(`form[action="/kept/open"] button[value="` + name + `"]`)
		b.Await(`document.querySelector("form.instead") !== null && document.readyState === "complete"`)
		assert.Contains(t, b.Text("form.instead"), "You look at "+name+", a store of its own")
		assert.Contains(t, b.Text("main"), "2026")
		assert.LessOrEqual(t, webtest.Eval[int64](b, "document.documentElement.scrollWidth"), size.Width)
		assert.Empty(t, barriers(b, axe))
		assert.Empty(t, webtest.Eval[[]string](b, tooSmall))
		b.Shoot("kept-opened-" + size.Name)
		b.Open(st.url("/pulls/1"))
		b.Await(`document.querySelector('[data-part="trace"]').dataset.points > 100`)
		b.Open(st.url("/line"))
		assert.Contains(t, b.Text("main .alarm"), "recorded meanwhile")
		b.Shoot("kept-opened-line-" + size.Name)
		require.Eventually(t, func() bool { return recorded() > before+500 }, needs.Patience, 20*time.Millisecond, "the own store is not recorded into")
		b.Click("form.instead button")
		b.Await(`document.querySelector("form.instead") === null && location.pathname === "/"`)
		b.Open(st.url("/line"))
		b.Await(`document.querySelector('[data-part="trace"]').dataset.points > 50`)
	}
	assert.Empty(t, b.Errors())
	assert.Empty(t, b.Strangers())
	st.stop()
	gaps := 0
	last := int64(math.MinInt64)
	for run, err := range st.store.Runs(t.Context(), st.cell.ID, math.MinInt64, math.MaxInt64) {
		require.NoError(t, err)
		if last != math.MinInt64 && float64(run.Start-last) > 3*run.Step {
			gaps++
		}
		last = run.At(len(run.Raw) - 1)
	}
	assert.Zero(t, gaps, "readings are missing")
	back, err := store.OpenReader(filepath.Join(st.store.Dir(), "..", name))
	require.NoError(t, err)
	defer back.Close()
	require.NoError(t, back.Integrity(t.Context()))
}
