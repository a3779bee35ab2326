package web_test

import (
	"context"
	"net/http"
	"net/http/httptest"
	"net/url"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

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
		b.Await(`document.querySelector("form.madeup") !== null`, 20*time.Second)
		assert.Contains(t, b.Text("form.madeup"), "are made up")
		b.Open(srv.URL + "/pulls/1")
		b.Await(`document.querySelector('[data-part="trace"]').dataset.points > 100`, 20*time.Second)
		assert.Empty(t, barriers(b, axe))
		b.Shoot("sample-" + size.Name)
		b.Click(`form.madeup button`)
		b.Await(`document.querySelector('form[action="/sample"]') !== null`, 20*time.Second)
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

	assert.Contains(t, read(t, f.ask("GET", "/pulls", nil, sees)), "40.0 kN")
	assert.NotContains(t, f.page(t, "/pulls"), "40.0 kN", "another browser")
	assert.NotContains(t, read(t, f.ask("GET", "/line", nil, sees)), "data-live", "nothing to listen to: the page would say that the program does not answer")
	assert.Contains(t, read(t, f.ask("GET", "/people", nil, sees)), "People", "who is signed in is asked of the real store")
	res = f.ask("POST", "/vehicles/new", url.Values{"token": form["token"], "name": {"Newt"}, "gvm": {"2 t"}}, sees)
	require.Equal(t, http.StatusSeeOther, res.StatusCode, read(t, res))
	mine, err := f.store.Vehicles(t.Context())
	require.NoError(t, err)
	assert.Empty(t, mine)
	sampled, err := l.store.Vehicles(t.Context())
	require.NoError(t, err)
	assert.Len(t, sampled, 1)

	res = f.ask("POST", "/sample/away", form, sees)
	require.Equal(t, http.StatusSeeOther, res.StatusCode)
	assert.NotContains(t, read(t, f.ask("GET", "/pulls", nil, sees)), "40.0 kN", "an old cookie shows nothing")
	res = f.ask("POST", "/sample", url.Values{"token": {"wrong"}}, nil)
	assert.Equal(t, http.StatusForbidden, res.StatusCode)
}
