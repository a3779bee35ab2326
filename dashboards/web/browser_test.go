package web_test

import (
	"fmt"
	"net/http/httptest"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/dashboards/people"
	"tautlog/dashboards/web/webtest"
	"tautlog/ingest/needs"
	"tautlog/ingest/store"
)

// needAssets skips a test that is nothing without the script, or fails it
// where every check was asked for.
func needAssets(t *testing.T) {
	t.Helper()
	if _, err := os.Stat("dist/main.js"); err != nil {
		needs.Missing(t, "the script of the pages is not built: go generate ./dashboards/web")
	}
}

// TestPagesInBrowser opens every page on a phone and a laptop, by day and by
// night, and checks what only a browser knows: that nothing sticks out, that
// everything to press is large enough for gloves, that no script fails and no
// request leaves the machine. With TAUTLOG_SHOTS it leaves pictures.
func TestPagesInBrowser(t *testing.T) {
	needAssets(t)
	b := webtest.Start(t)
	f := newFixture(t)
	f.history(t)
	f.calibrated(t)
	signedIn(t, f.open(t), "Jun", people.Viewer)
	axe := axeSource(t)
	srv := httptest.NewServer(f.pages)
	defer srv.Close()
	one := fmt.Sprintf("/pulls/%d", f.pull.ID)
	names := map[string]string{
		"first":        "/",
		"plan":         "/plan",
		"plan-steady":  "/plan/steady?stuck-mass=3.2t&surface=gravel&mire=wheel&rig=single+strap&winch=4t",
		"plan-force":   "/plan/force?rig=single+strap&force=20kN..35kN",
		"plan-empty":   "/plan/kinetic",
		"plan-kinetic": "/plan/kinetic?rig=single+strap&speed=8km/h&ground=wet+sand&elongation=20%25&resistance=12kN",
		"plan-wrong":   "/plan/kinetic?rig=single+strap&speed=8",
		"multipliers":  "/multipliers?assume=3",
		"next":         "/multipliers/next?limit=60kN&ground=silt",
		"line":         "/line",
		"days":         "/days",
		"day":          "/days/2026-03-14",
		"day-trace":    "/days/2026-03-14/trace",
		"pulls":        "/pulls",
		"pull":         one,
		"gear":         "/gear",
		"labels":       "/gear/labels",
		"labels-made":  "/gear/labels?item=1&item=4",
		"vehicles":     "/vehicles",
		"vehicle-new":  "/vehicles/new",
		"rig":          "/rigs/1",
		"rig-edit":     "/rigs/1/edit",
		"rig-new":      "/rigs/new",
		"rig-text":     "/rigs/1/text",
		"item":         "/gear/4",
		"item-edit":    "/gear/4/edit",
		"rigs":         "/rigs",
		"cells":        "/cells",
		"people":       "/people",
		"sign-in":      "/sign-in",
		"cell":         "/cells/River-1",
		"guide":        "/guide",
		"files":        "/files",
		"tracein":      "/files/trace",
		"first-rig":    "/rigs/first",
		"kept":         "/kept",
		"table":        "/cells/River-1/table",
		"cell-new":     "/cells/new",
		"points":       "/cells/River-1/points",
	}
	for _, size := range []webtest.Size{webtest.Phone(), webtest.Laptop()} {
		b.Resize(size)
		for _, look := range []string{"day", "night"} {
			for name, target := range names {
				b.Open(srv.URL + target)
				choose(b, look)
				if name == "multipliers" {
					b.Await(`document.querySelectorAll('[data-points]').length === 3`)
				}
				if name == "pull" || name == "day-trace" {
					b.Await(`document.querySelector('[data-part="trace"]').dataset.points > 100`)
				}
				where := strings.Join([]string{name, size.Name, look}, "-")
				assert.LessOrEqual(t, webtest.Eval[int64](b, "document.documentElement.scrollWidth"), size.Width, "%s sticks out to the right", where)
				assert.Empty(t, webtest.Eval[[]string](b, tooSmall), "too small for gloves on %s", where)
				assert.Empty(t, webtest.Eval[[]string](b, parted), "on two lines on %s", where)
				assert.Empty(t, webtest.Eval[[]string](b, unlabelled), "without a label on %s", where)
				assert.Empty(t, barriers(b, axe), "on %s", where)
				b.Shoot(where)
			}
		}
	}
	assert.Empty(t, b.Errors())
	assert.Empty(t, b.Strangers())
}

// choose presses the look as a person does, if it is not chosen yet.
func choose(b *webtest.Browser, look string) {
	if webtest.Eval[string](b, "document.documentElement.dataset.look") == look {
		return
	}
	webtest.Eval[bool](b, `(() => { const s = document.querySelector("#look"); s.value = "`+look+`"; s.dispatchEvent(new Event("change", { bubbles: true })); return true; })()`)
	b.Await(`document.documentElement.dataset.look === "` + look + `" && document.readyState === "complete"`)
}

// tooSmall lists what can be pressed and is lower than 48 pixels.
const tooSmall = `[...document.querySelectorAll("nav a, .mark, button, select, input, summary, .answers a, .rows a")]
	.filter((e) => e.checkVisibility() && e.type !== "hidden" && e.getBoundingClientRect().height < 47.5)
	.map((e) => e.outerHTML.slice(0, 80) + " " + e.getBoundingClientRect().height)`

// TestZoomInBrowser goes from the whole pull down to single readings and back.
func TestZoomInBrowser(t *testing.T) {
	needAssets(t)
	b := webtest.Start(t)
	f := newFixture(t)
	srv := httptest.NewServer(f.pages)
	defer srv.Close()
	b.Open(srv.URL + fmt.Sprintf("/pulls/%d", f.pull.ID))
	const drawn = `Number(document.querySelector('[data-part="trace"]').dataset.points)`
	b.Await(drawn + " > 100")
	require.Equal(t, "false", webtest.Eval[string](b, `document.querySelector('[data-part="trace"]').dataset.few`))
	for range 3 {
		before := webtest.Eval[int64](b, drawn)
		b.Click(`[data-part="in"]`)
		b.Await(fmt.Sprintf("%s !== %d", drawn, before))
	}
	b.Await(`document.querySelector('[data-part="trace"]').dataset.few === "true"`)
	assert.Regexp(t, `^\d+ readings, each one drawn\.$`, b.Text(`[data-part="said"]`))
	b.Shoot("zoom-single-readings")
	b.Click(`[data-part="rise"]`)
	b.Await(`document.querySelector('[data-part="trace"]').dataset.few === "false"`)
	b.Click(`[data-part="filter"]`)
	b.Await(`Number(document.querySelector('[data-part="trace"]').dataset.filtered) > 100`)
	assert.Equal(t, "true", webtest.Eval[string](b, `document.querySelector('[data-part="filter"]').ariaPressed`))
	b.Shoot("zoom-rise-filtered")
	b.Click(`[data-part="filter"]`)
	b.Await(`document.querySelector('[data-part="trace"]').dataset.filtered === "0"`)
	assert.Empty(t, b.Errors())
}

// TestGapsStayOpenInBrowser: a cell that was on for some seconds at each pull,
// with long breaks, is drawn as that, without lines between.
func TestGapsStayOpenInBrowser(t *testing.T) {
	needAssets(t)
	b := webtest.Start(t)
	f := newFixture(t)
	for i := 1; i <= 3; i++ {
		at := start.Add(time.Duration(i) * 40 * time.Minute)
		require.NoError(t, f.store.Append(t.Context(), []store.Run{{Cell: f.cell.ID, Start: at.UnixNano(), Step: 1e6, Raw: pulse()}}))
	}
	srv := httptest.NewServer(f.pages)
	defer srv.Close()
	b.Open(srv.URL + "/days/" + start.Format(time.DateOnly) + "/trace")
	b.Await(`Number(document.querySelector('[data-part="trace"]').dataset.points) > 0`)
	assert.Equal(t, "3", webtest.Eval[string](b, `document.querySelector('[data-part="trace"]').dataset.gaps`))
}

// TestTraceKeysInBrowser goes along a trace by keys alone: reading by reading,
// closer, and back to the whole of it.
func TestTraceKeysInBrowser(t *testing.T) {
	needAssets(t)
	b := webtest.Start(t)
	f := newFixture(t)
	srv := httptest.NewServer(f.pages)
	defer srv.Close()
	b.Open(srv.URL + fmt.Sprintf("/pulls/%d", f.pull.ID))
	b.Await(`document.querySelector('[data-part="trace"]').dataset.points > 100`)
	webtest.Eval[bool](b, `(() => { document.querySelector('[data-part="trace"]').focus(); return true; })()`)
	b.Press(kb.ArrowRight)
	first := b.Text(`[data-part="said"]`)
	assert.Regexp(t, `^-?\d+\.\d{3} s: .* kN$`, first)
	b.Press(kb.ArrowRight)
	assert.NotEqual(t, first, b.Text(`[data-part="said"]`))
	b.Press(kb.ArrowLeft)
	assert.Equal(t, first, b.Text(`[data-part="said"]`))
	shown := `document.querySelector('[data-part="trace"]').dataset.shown`
	whole := webtest.Eval[string](b, shown)
	b.Press("+")
	b.Await(shown + " !== " + strconv.Quote(whole))
	b.Press(kb.Home)
	b.Await(shown + " === " + strconv.Quote(whole))
	assert.Empty(t, b.Errors())
}
