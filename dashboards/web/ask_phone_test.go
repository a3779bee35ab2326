package web_test

import (
	"net"
	"net/http"
	"net/netip"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/dashboards/people"
	"tautlog/dashboards/web"
	"tautlog/dashboards/web/webtest"
)

// network serves the pages of a fixture as on the local network: a browser
// that comes by this address is told apart from one at the machine, and signs in.
func (f *fixture) network(t *testing.T) (url string, d *people.Desk) {
	t.Helper()
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	now := func() time.Time { return start.Add(time.Minute) }
	f.pages, err = web.New(web.Config{Store: f.store, Zone: time.UTC, Now: now, Network: netip.MustParseAddrPort(ln.Addr().String())})
	require.NoError(t, err)
	srv := &http.Server{ReadHeaderTimeout: time.Minute, Handler: http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		r.RemoteAddr = phone // the only thing that a hotspot would change
		f.pages.ServeHTTP(w, r)
	})}
	ended := make(chan error, 1)
	go func() { ended <- srv.Serve(ln) }()
	t.Cleanup(func() {
		_ = srv.Close()
		assert.ErrorIs(t, <-ended, http.ErrServerClosed)
	})
	return "http://" + ln.Addr().String(), people.NewDesk(f.store, now)
}

// signIn opens the link of a code, as a phone's camera does, and presses its
// button.
func signIn(t *testing.T, b *webtest.Browser, url string, d *people.Desk, name string, role people.Role) {
	t.Helper()
	p, err := d.Add(t.Context(), name, role, "")
	require.NoError(t, err)
	pass, err := d.Pass(t.Context(), p.ID)
	require.NoError(t, err)
	b.Open(url + "/in/" + pass)
	b.Click("main form button")
	b.Await(`location.pathname === "/" && document.readyState === "complete"`)
}

// brokenWords gives the words on taps that are wider than the tap they stand
// on, and would be broken in the middle.
const brokenWords = `[...document.querySelectorAll(".taps button")].flatMap((b) => {
	const s = document.createElement("span"), css = getComputedStyle(b);
	s.style.whiteSpace = "nowrap";
	return b.textContent.split(" ").filter((word) => {
		s.textContent = word;
		b.append(s);
		const wide = s.getBoundingClientRect().width;
		s.remove();
		return wide > b.clientWidth - parseFloat(css.paddingLeft) - parseFloat(css.paddingRight);
	});
}).join(", ")`

// TestFourTapsOnAnOperatorsPhone answers speed, slack, ground and depth from a
// phone that signed in by a code: all four are kept, under the phone's name.
func TestFourTapsOnAnOperatorsPhone(t *testing.T) {
	needAssets(t)
	b := webtest.Start(t)
	b.Resize(webtest.Phone())
	f := newFixture(t)
	url, d := f.network(t)
	b.Open(url + "/line")
	b.Await(`location.pathname === "/sign-in"`) // not signed in: nothing is shown
	signIn(t, b, url, d, "Mira", people.Operator)
	b.Open(url + "/line")
	for _, q := range []struct{ asks, tap string }{{"How fast was the puller", "8 km/h"}, {"How much slack", "2 m"}, {"What ground", "silt"}, {"How deep", "wheel"}} {
		b.Await(`document.querySelector(".ask legend")?.textContent.startsWith("` + q.asks + `")`)
		b.Shoot("taps-operator-phone")
		for _, size := range []webtest.Size{webtest.Laptop(), webtest.Phone()} {
			b.Resize(size)
			assert.Empty(t, webtest.Eval[string](b, brokenWords), size.Name)
		}
		b.Click(`.ask button[value="` + q.tap + `"]`)
	}
	b.Await(`document.querySelector(".ask .story")?.textContent.startsWith("That is all.")`)
	assert.Empty(t, barriers(b, axeSource(t)))
	p, err := f.store.Pull(t.Context(), f.pull.ID)
	require.NoError(t, err)
	assert.InDelta(t, 8/3.6, float64(*p.Speed), 1e-9)
	assert.Equal(t, []any{"2 m", "silt", "wheel"}, []any{p.Slack.String(), p.Ground, string(p.Depth)})
	last, err := f.store.Journal(t.Context(), "pull", f.pull.ID, 4)
	require.NoError(t, err)
	require.Len(t, last, 4)
	for _, c := range last {
		assert.Equal(t, "Mira", c.Who)
	}
	assert.Empty(t, b.Errors())
}

// TestViewersPhoneSeesAndCannotTap: a viewer sees the result, and nothing to
// tap; what is sent all the same is refused, and changes nothing.
func TestViewersPhoneSeesAndCannotTap(t *testing.T) {
	needAssets(t)
	b := webtest.Start(t)
	b.Resize(webtest.Phone())
	f := newFixture(t)
	url, d := f.network(t)
	signIn(t, b, url, d, "Jun", people.Viewer)
	b.Open(url + "/line")
	assert.Contains(t, b.Text("article.result .peak"), "40.00 kN")
	assert.Contains(t, b.Text("header"), "You are signed in as Jun, a viewer")
	assert.Zero(t, webtest.Eval[int64](b, `document.querySelectorAll('main form[method="post"]').length`), "something to tap")
	assert.Empty(t, barriers(b, axeSource(t)))
	b.Shoot("taps-viewer-phone")
	before := f.dump(t)
	webtest.Eval[bool](b, `(() => { window.sent = 0; const form = new URLSearchParams({ token: document.querySelector('[name="token"]').value, step: "speed", value: "8 km/h" });
		fetch("/pulls/1/answer", { method: "POST", body: form, redirect: "manual" }).then((r) => { window.sent = r.status; }); return true; })()`)
	b.Await(`window.sent !== 0`)
	assert.EqualValues(t, 403, webtest.Eval[int64](b, "window.sent"))
	assert.Equal(t, before, f.dump(t))
	assert.Empty(t, b.Errors())
}
