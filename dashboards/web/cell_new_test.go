package web_test

import (
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/dashboards/people"
	"tautlog/dashboards/web/webtest"
	"tautlog/ingest/needs"
	"tautlog/ingest/store"
)

// newBareStation is the daemon of somebody who has never set up a cell.
func newBareStation(t *testing.T) *station {
	t.Helper()
	s, err := store.Open(t.TempDir(), store.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, s.Close()) })
	st := &station{store: s}
	st.start(t, "127.0.0.1:0")
	t.Cleanup(func() { st.stop() })
	return st
}

// sender is an instrument in another process, and the port that it is plugged
// in at.
func sender(t *testing.T, args ...string) (link string) {
	t.Helper()
	link = filepath.Join(t.TempDir(), "cell")
	needs.Sender(t, link, args...)
	return link
}

// TestNewCellInBrowser is the way of somebody with an instrument that this
// program has never seen: they listen to it, see what it sends, give it a name,
// and its line is on the screen; then they plug it in elsewhere.
func TestNewCellInBrowser(t *testing.T) {
	needAssets(t)
	b := webtest.Start(t)
	b.Resize(webtest.Phone())
	st := newBareStation(t)
	axe := axeSource(t)
	b.Open(st.url("/line"))
	assert.Equal(t, "/cells", webtest.Eval[string](b, "location.pathname"), "there is no line to look at yet")
	assert.Contains(t, b.Text("main"), "No cell is set up yet.")
	b.Click(`main a[href="/cells/new"]`)
	b.Await(`document.querySelector("#path") !== null`)
	assert.Empty(t, barriers(b, axe))
	b.Shoot("newcell-phone")
	b.Type("#path", sender(t, "--format", "text", "--rate", "80", "--shape", "steady", "--peak", "900", "--noise", "3"))
	b.Press("\r")
	b.Await(`location.pathname === "/cells/new/heard"`)
	b.Await(`document.querySelector(".proposal") !== null`) // by itself
	assert.Empty(t, barriers(b, axe))
	b.Shoot("heard-phone")
	assert.Regexp(t, `at 115200 baud: [\d,]{3,} bytes in`, b.Text("p.story"))
	assert.Regexp(t, `-?\d+ counts`, b.Text(".proposal .latest b"))
	b.Type("#capacity", "20 kN")
	assert.Equal(t, "Load-1", webtest.Eval[string](b, `document.querySelector("#name").value`), "a name to begin with")
	webtest.Eval[string](b, `document.querySelector("#name").value = ""`)
	b.Click("form.sheet p.tools button")
	b.Await(`document.querySelector("#name-say")?.textContent.includes("needs a name")`)
	b.Type("#name", "River-1")
	b.Click("form.sheet p.tools button")
	b.Await(`document.querySelector("#curve-say")?.textContent.includes("its curve is needed")`)
	b.Type("#curve", "0,4")
	b.Click("form.sheet p.tools button")
	b.Await(`location.pathname === "/rigs/first" && document.readyState === "complete"`) // without a rig nothing is judged
	assert.Equal(t, "River-1", webtest.Eval[string](b, `document.querySelector("#g3-name").value`))
	assert.Empty(t, barriers(b, axe))
	b.Shoot("first-rig-of-cell-phone")
	b.Open(st.url("/cells/River-1"))
	b.Await(`document.querySelector("main").innerText.includes("just now")`) // by itself
	assert.Empty(t, barriers(b, axe))
	assert.LessOrEqual(t, webtest.Eval[int64](b, "document.documentElement.scrollWidth"), webtest.Phone().Width)
	b.Shoot("cell-just-set-up-phone")
	b.Open(st.url("/"))
	assert.Contains(t, b.Text("main"), "No rig is entered yet", "what comes next")
	assert.Empty(t, barriers(b, axe))
	b.Shoot("norig-phone")
	b.Open(st.url("/cells/River-1"))
	b.Click(`main a[href="/line?cell=River-1"]`)
	b.Await(`document.querySelector('#rig a[href="/rigs/first"]') !== null`)
	b.Await(`/^-?\d+\.\d+$/.test(document.querySelector('[data-part="force"]').textContent)`)
	b.Await(`document.querySelector('[data-part="trace"]').dataset.points > 50`)

	// Plugged in elsewhere: another port, the same name.
	b.Resize(webtest.Laptop())
	b.Open(st.url("/cells/new"))
	other := sender(t, "--rate", "200", "--shape", "quiet")
	b.Type("#path", other)
	b.Press("\r")
	b.Await(`document.querySelector(".proposal") !== null`)
	b.Shoot("heard-laptop")
	assert.LessOrEqual(t, webtest.Eval[int64](b, "document.documentElement.scrollWidth"), webtest.Laptop().Width)
	b.Type("#name", "River-1")
	b.Click("form.sheet p.tools button")
	b.Await(`document.querySelector('button[name="change"]') !== null`)
	b.Click(`button[name="change"]`)
	b.Await(`location.pathname === "/rigs/first" && document.readyState === "complete"`)
	b.Open(st.url("/cells/River-1"))
	b.Await(`/[1-9]\d{2,} readings from/.test(document.querySelector("#is").innerText)`)
	c, err := st.store.CellByName(t.Context(), "River-1")
	require.NoError(t, err)
	assert.Equal(t, other, c.Line.Path)
	assert.InDelta(t, 20e3, float64(c.Capacity), 1e-6, "what was not said anew is kept")
	assert.Equal(t, []float64{0, 4}, c.Curve.Coefficients)
	_, _, before, err := st.store.Span(t.Context(), c.ID)
	require.NoError(t, err)
	assert.Positive(t, before)
	require.Eventually(t, func() bool {
		_, _, n, err := st.store.Span(t.Context(), c.ID)
		return err == nil && n > before+200
	}, needs.Patience, 20*time.Millisecond, "recorded from the other port")

	// Its port is not listened to while it is recorded; it is once that is stopped.
	b.Open(st.url("/cells/new"))
	b.Type("#path", other)
	b.Press("\r")
	b.Await(`document.querySelector(".alarm")?.textContent.includes("is recorded as cell River-1")`)
	b.Open(st.url("/cells/River-1"))
	b.Click(`details:has(form[action="/cells/River-1/drop"]) summary`)
	b.Click(`form[action="/cells/River-1/drop"] button`)
	b.Await(`document.querySelector('form[action="/cells/River-1/drop"] button') === null`)
	b.Open(st.url("/cells/new"))
	b.Type("#path", other)
	b.Press("\r")
	b.Await(`document.querySelector(".proposal") !== null`)
	assert.Empty(t, b.Errors())
	assert.Empty(t, b.Strangers())
}

// A port that is not there, one that is no port, and what only somebody at
// this machine may choose.
func TestNewCellRefusals(t *testing.T) {
	t.Parallel()
	st := newBareStation(t)
	f := &fixture{store: st.store, pages: st.pages}
	send := func(pairs ...string) string {
		form := url.Values{"token": {f.token(t)}}
		for i := 0; i < len(pairs); i += 2 {
			form.Set(pairs[i], pairs[i+1])
		}
		res := f.ask("POST", "/cells/new", form, nil)
		if res.StatusCode != 303 {
			return read(t, res)
		}
		require.Eventually(t, func() bool { return strings.Contains(f.page(t, "/cells/new/progress"), "data-then") }, needs.Patience, 10*time.Millisecond)
		return f.page(t, "/cells/new/heard")
	}
	assert.Contains(t, send(), "Choose a port of the list, or write the path of one.")
	assert.Contains(t, send("path", "/dev/none"), "Listen again")
	file := filepath.Join(t.TempDir(), "notes.txt")
	require.NoError(t, os.WriteFile(file, []byte("1\n2\n3\n"), 0o600))
	assert.Contains(t, send("path", file), `role="alert"`)
	left, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, "1\n2\n3\n", string(left))
	assert.Contains(t, send("path", "/dev/none", "baud", "fast"), "is not a number from 50")
	assert.Contains(t, send("path", "/dev/none", "frame", "9N9"), "A line has no frame")
	assert.Contains(t, send("path", "/dev/none", "poll", `\q`), `ask.poll is`)
	assert.Contains(t, send("path", "/dev/none", "address", "300"), "is not a number from 1 to 247")
	assert.Contains(t, read(t, f.ask("POST", "/cells/new/keep", url.Values{"token": {f.token(t)}, "heard": {"77"}, "name": {"River-1"}}, nil)), "so nothing was set up")

	phone := signedIn(t, people.NewDesk(st.store, time.Now), "Mira", people.Operator)
	res := f.ask("POST", "/cells/new", url.Values{"token": {tokenFrom(t, read(t, f.ask("GET", "/cells/new", nil, fromPhone(phone))))}, "path": {file}}, fromPhone(phone))
	assert.Contains(t, read(t, res), "From another machine only those can be chosen.")
	cells, err := st.store.Cells(t.Context())
	require.NoError(t, err)
	assert.Empty(t, cells)
}
