package web_test

import (
	"context"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/dashboards/people"
	"tautlog/dashboards/web"
	"tautlog/dashboards/web/webtest"
	"tautlog/ingest/store"
)

// lent is the fixture's store as a sample day.
type lent struct {
	store          *store.Store
	opened, closed int
}

func (l *lent) Open(context.Context) (*store.Store, error) { l.opened++; return l.store, nil }

func (l *lent) Close() error { l.closed++; return nil }

// emptied is the fixture with an empty store, which offers the fixture's own
// as a sample day.
func emptied(t *testing.T) (*fixture, *lent) {
	t.Helper()
	full := newFixture(t)
	s, err := store.Open(t.TempDir(), store.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	l := &lent{store: full.store}
	f := &fixture{store: s}
	f.pages, err = web.New(web.Config{Store: s, Zone: time.UTC, Sample: l, Now: func() time.Time { return start.Add(time.Minute) }})
	require.NoError(t, err)
	return f, l
}

// TestSampleInBrowser is the first minute of a new user: an empty store, one
// tap to a sample, one tap to be rid of it.
func TestSampleInBrowser(t *testing.T) {
	needAssets(t)
	b := webtest.Start(t)
	f, l := emptied(t)
	axe := axeSource(t)
	srv := httptest.NewServer(f.pages)
	defer srv.Close()
	for _, size := range []webtest.Size{webtest.Phone(), webtest.Laptop()} {
		b.Resize(size)
		b.Open(srv.URL)
		look := map[string]string{"phone": "day", "laptop": "night"}[size.Name]
		choose(b, look)
		assert.Contains(t, b.Text("main"), "No load cell is set up yet")
		assert.Empty(t, barriers(b, axe))
		assert.Empty(t, webtest.Eval[[]string](b, tooSmall))
		assert.LessOrEqual(t, webtest.Eval[int64](b, "document.documentElement.scrollWidth"), size.Width)
		b.Shoot("empty-" + size.Name)
		b.Click(`form[action="/sample"] button`)
		b.Await(`document.querySelector("form.madeup") !== null`)
		assert.Contains(t, b.Text("form.madeup"), "are made up")
		b.Open(srv.URL + "/pulls/1")
		b.Await(`document.querySelector('[data-part="trace"]').dataset.points > 100`)
		assert.Empty(t, barriers(b, axe))
		b.Shoot("sample-" + size.Name)
		b.Click(`form.madeup button`)
		b.Await(`document.querySelector('form[action="/sample"]') !== null`)
		assert.NotContains(t, b.Text("body"), "made up")
	}
	assert.Equal(t, 2, l.opened)
	assert.Equal(t, 2, l.closed)
	assert.Empty(t, b.Errors())
}

// TestSampleIsApart: only the browser that asked sees the sample, and what is
// done there does not reach the store.
func TestSampleIsApart(t *testing.T) {
	f, l := emptied(t)
	form := url.Values{"token": {f.token(t)}}
	res := f.ask("POST", "/sample", form, nil)
	require.Equal(t, http.StatusSeeOther, res.StatusCode)
	cookie := res.Cookies()[0]
	sees := func(r *http.Request) { r.AddCookie(cookie) }

	assert.Contains(t, read(t, f.ask("GET", "/pulls", nil, sees)), "40.00 kN")
	assert.NotContains(t, f.page(t, "/pulls"), "40.00 kN", "another browser")
	assert.NotContains(t, read(t, f.ask("GET", "/line", nil, sees)), "data-live", "nothing to listen to: the page would say that the program does not answer")
	assert.Contains(t, read(t, f.ask("GET", "/people", nil, sees)), "People", "who is signed in is asked of the real store")
	added := url.Values{"token": form["token"], "name": {"Newt"}, "gvm": {"2 t"}}
	assert.Equal(t, http.StatusForbidden, f.ask("POST", "/vehicles/new", added, sees).StatusCode, "a form of the own store")
	added.Set("token", lastToken(t, read(t, f.ask("GET", "/vehicles/new", nil, sees))))
	res = f.ask("POST", "/vehicles/new", added, sees)
	require.Equal(t, http.StatusSeeOther, res.StatusCode, read(t, res))
	mine, err := f.store.Vehicles(t.Context())
	require.NoError(t, err)
	assert.Empty(t, mine)
	sampled, err := l.store.Vehicles(t.Context())
	require.NoError(t, err)
	assert.Len(t, sampled, 1)

	res = f.ask("GET", "/days/2026-03-14/report.html", nil, sees)
	assert.Equal(t, `attachment; filename="made-up-2026-03-14-report.html"`, res.Header.Get("Content-Disposition"))
	assert.Equal(t, 2, strings.Count(read(t, res), "Everything in this report is made up."), "at its head and at its foot")

	res = f.ask("POST", "/sample/away", form, sees)
	require.Equal(t, http.StatusSeeOther, res.StatusCode)
	assert.NotContains(t, read(t, f.ask("GET", "/pulls", nil, sees)), "40.00 kN", "an old cookie shows nothing")
	res = f.ask("POST", "/sample", url.Values{"token": {"wrong"}}, nil)
	assert.Equal(t, http.StatusForbidden, res.StatusCode)
}

// TestSampleLater: once something was pulled the sample days are there for who
// looks for them, and the own log is untouched by looking; a viewer, who may
// open nothing, is offered nothing.
func TestSampleLater(t *testing.T) {
	f, other := newFixture(t), newFixture(t)
	l := &lent{store: other.store}
	var err error
	f.pages, err = web.New(web.Config{Store: f.store, Zone: time.UTC, Sample: l, Now: func() time.Time { return start.Add(time.Minute) }, Network: netip.MustParseAddrPort(opened)})
	require.NoError(t, err)
	viewer := signedIn(t, people.NewDesk(f.store, func() time.Time { return start.Add(time.Minute) }), "Jun", people.Viewer)
	before := f.dump(t)
	for _, where := range []string{"/", "/days"} {
		page := f.page(t, where)
		assert.Contains(t, page, "Show the sample days", where)
		assert.NotContains(t, page, "Nothing was pulled yet", where)
		assert.NotContains(t, read(t, f.ask("GET", where, nil, fromPhone(viewer))), "ample days", "%s to a viewer", where)
	}
	res := f.ask("POST", "/sample", url.Values{"token": {f.token(t)}}, nil)
	require.Equal(t, http.StatusSeeOther, res.StatusCode)
	cookie := res.Cookies()[0]
	for _, where := range []string{"/", "/days", "/pulls", "/pulls/1", "/gear", "/multipliers", "/plan", "/guide"} {
		page := read(t, f.ask("GET", where, nil, func(r *http.Request) { r.AddCookie(cookie) }))
		assert.Contains(t, page, `class="madeup"`, where)
		assert.Regexp(t, `<title>[^<]*\(made up\) · tautlog</title>`, page, where)
		assert.NotContains(t, page, "Show the sample days", "%s: they are shown", where)
		assert.NotContains(t, f.page(t, where), `class="madeup"`, "%s as others see it", where)
	}
	assert.Contains(t, read(t, f.ask("GET", "/guide", nil, func(r *http.Request) { r.AddCookie(cookie) })), "Before anything is hooked up")
	assert.Equal(t, before, f.dump(t))
}

// TestSampleLaterInBrowser goes from a log of one's own to the sample days and
// back, from the foot of the first page.
func TestSampleLaterInBrowser(t *testing.T) {
	needAssets(t)
	b := webtest.Start(t)
	f, other := newFixture(t), newFixture(t)
	var err error
	f.pages, err = web.New(web.Config{Store: f.store, Zone: time.UTC, Sample: &lent{store: other.store}, Now: func() time.Time { return start.Add(time.Minute) }})
	require.NoError(t, err)
	axe := axeSource(t)
	srv := httptest.NewServer(f.pages)
	defer srv.Close()
	for _, size := range []webtest.Size{webtest.Phone(), webtest.Laptop()} {
		b.Resize(size)
		for _, where := range []string{"/days", "/"} {
			b.Open(srv.URL + where)
			assert.Empty(t, barriers(b, axe))
			assert.LessOrEqual(t, webtest.Eval[int64](b, "document.documentElement.scrollWidth"), size.Width)
			b.Shoot("sample-later" + strings.ReplaceAll(where, "/", "-") + "-" + size.Name)
		}
		b.Click(`form[action="/sample"] button`)
		b.Await(`document.querySelector("form.madeup") !== null && location.pathname.startsWith("/days")`)
		assert.Contains(t, webtest.Eval[string](b, "document.title"), "(made up)")
		assert.Empty(t, barriers(b, axe))
		b.Click(`form.madeup button`)
		b.Await(`document.querySelector("form.madeup") === null && location.pathname === "/"`)
	}
	assert.Empty(t, b.Errors())
	assert.Empty(t, b.Strangers())
}
