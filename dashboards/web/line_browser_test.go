package web_test

import (
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/rig"
	"tautlog/dashboards/web/webtest"
	"tautlog/ingest/store"
)

// weak is the station's rig with its stuck end's shackle stamped so low that
// every pull of the script crosses it.
func (st *station) weak(t *testing.T) rig.Rig {
	t.Helper()
	weak := strapRig()
	weak.Name = "weak shackle"
	weak.Chain[4].Use.Item.Ratings[0].Value = 4000
	saved, err := st.store.SaveRig(t.Context(), document(weak))
	require.NoError(t, err)
	_, err = st.store.SetSetup(t.Context(), store.Setup{Cell: st.cell.ID, Rig: saved.ID, Ground: "wet sand"})
	require.NoError(t, err)
	return weak
}

// noted keeps in the page what it said of the line and of its limit, however
// short it was said.
const noted = `document.addEventListener("DOMContentLoaded", () => { window.noted = [];
	for (const name of ["state", "over"]) {
		const e = document.querySelector('[data-part="' + name + '"]');
		if (e) new MutationObserver(() => window.noted.push(e.textContent.replace(/\s+/g, " "))).observe(e, { childList: true, characterData: true, subtree: true });
	} });`

// TestLimitAndSoundInBrowser turns the sound on by a tap, has the first pull
// cross the limit of the weakest item, and loads the page anew: the choice is
// kept, and the page says that it waits for a touch.
func TestLimitAndSoundInBrowser(t *testing.T) {
	needAssets(t)
	b := webtest.Start(t)
	b.Resize(webtest.Phone())
	axe := axeSource(t)
	st := newStation(t)
	st.weak(t)
	b.Before(noted)
	b.Open(st.url("/line"))
	b.Await(`document.querySelector('[data-part="sound-says"]').textContent === "Off."`)
	assert.Equal(t, "4000", webtest.Eval[string](b, `document.querySelector('[data-part="limit"]').dataset.newtons`))
	assert.Contains(t, b.Text(`[data-part="limit"]`), "bow shackle 13 reaches its limit first, when River-1 reads 4 kN.")
	b.Click(`[data-part="sound"]`)
	b.Await(`document.querySelector('[data-part="sound-says"]').textContent.startsWith("On: ")`)
	assert.Equal(t, "true", webtest.Eval[string](b, `document.querySelector('[data-part="sound"]').ariaPressed`))
	assert.Equal(t, "peak", webtest.Eval[string](b, `document.querySelector('[data-part="sound"]').dataset.sounded`), "so that a person hears that it works")

	b.Await(`document.querySelector('[data-part="trace"]').dataset.points > 50`)
	st.pull()
	b.Await(`window.noted.includes("Over the limit of bow shackle 13: 4 kN was crossed in this pull.")`)
	b.Await(`Number(document.querySelector('[data-part="trace"]').dataset.crossings) > 0`)
	b.Await(`(() => { const all = document.querySelector('[data-part="sound"]').dataset.sounded.split(" ").slice(1); return all.includes("limit") && all.includes("peak"); })()`)
	for _, look := range []string{"day", "night"} {
		choose(b, look)
		b.Await(`Number(document.querySelector('[data-part="trace"]').dataset.points) > 50`)
		assert.Empty(t, barriers(b, axe))
		b.Shoot("line-over-phone-" + look)
	}
	b.Resize(webtest.Laptop())
	b.Shoot("line-over-laptop")
	b.Open(st.url("/line"))
	b.Await(`document.querySelector('[data-part="sound-says"]').textContent.startsWith("On")`)
	b.Click("h2")
	b.Await(`document.querySelector('[data-part="sound-says"]').textContent.startsWith("On: ")`)
	assert.Empty(t, b.Errors())
}

// TestSoundFallsSilentInBrowser: without WebAudio the page says so, and goes on.
func TestSoundFallsSilentInBrowser(t *testing.T) {
	needAssets(t)
	b := webtest.Start(t)
	st := newStation(t)
	b.Before("delete window.AudioContext;")
	b.Open(st.url("/line"))
	b.Await(`document.querySelector('[data-part="sound-says"]').textContent.startsWith("This browser gives no sound.")`)
	b.Click(`[data-part="sound"]`)
	b.Await(`document.querySelector('[data-part="trace"]').dataset.points > 50`)
	assert.Empty(t, b.Errors())
}

// TestUnreadInBrowser pulls the plug of the cell: the page says that the number
// is an old one, instead of that the line is slack, and goes on by itself.
func TestUnreadInBrowser(t *testing.T) {
	needAssets(t)
	b := webtest.Start(t)
	b.Resize(webtest.Phone())
	st := newStation(t)
	b.Open(st.url("/line"))
	b.Await(`document.querySelector('[data-part="trace"]').dataset.points > 50`)
	st.unplug(t)
	state := `document.querySelector('[data-part="state"]').textContent`
	const away = "No reading now. The number is the last one that came."
	b.Await(state + ` === "` + away + `"`)
	b.Await(`document.querySelector("#live").classList.contains("silent")`)
	b.Shoot("line-unread-phone")
	b.Open(st.url("/line"))
	assert.Equal(t, away, b.Text(`[data-part="state"]`), "a page that is opened meanwhile says the same")
	st.replug(t)
	b.Await(state + `.startsWith("The line is ")`)
	b.Await(`!document.querySelector("#live").classList.contains("silent")`)
	assert.Empty(t, b.Errors())
}

// TestDigitsInBrowser holds the digits against what an eye can read at three
// metres in the sun.
//
// ISO 9241-303 asks for characters 20 to 22 minutes of arc high, 16 at least;
// WCAG 2.2, 1.4.6 for a contrast of 7 to 1. The first is from memory. A CSS
// pixel is 0.26 mm (CSS Values and Units 3, 5.2), on a phone of 390 of them and
// 68 mm across 0.174 mm. Digits of the usual fonts are 0.71 of their size high (from
// memory).
func TestDigitsInBrowser(t *testing.T) {
	needAssets(t)
	b := webtest.Start(t)
	st := newStation(t)
	for _, c := range []struct {
		size  webtest.Size
		pixel float64 // mm
	}{{webtest.Phone(), 68.0 / 390}, {webtest.Laptop(), 0.2}} {
		b.Resize(c.size)
		for _, u := range []string{"kN", "t", "kgf", "lbf"} {
			b.Open(st.url("/line"))
			b.Choose("#unit", u)
			b.Await(`document.querySelector("[data-live]")?.dataset.unit === "` + u + `" && document.readyState === "complete"`)
			size, err := strconv.ParseFloat(webtest.Eval[string](b, `getComputedStyle(document.querySelector(".digits")).fontSize.replace("px", "")`), 64)
			require.NoError(t, err)
			minutes := math.Atan(0.71*size*c.pixel/3000) * 180 / math.Pi * 60
			least := 16.0
			if c.size.Name == "laptop" {
				least = 20
			}
			assert.GreaterOrEqual(t, minutes, least, "%s on a %s: %.0f px", u, c.size.Name, size)
			widest := map[string]string{"kN": "-88.8", "t": "-8.88", "kgf": "-8888", "lbf": "18888"}[u]
			right := webtest.Eval[float64](b, `(() => { const e = document.querySelector('[data-part="force"]'); e.textContent = "`+widest+`"; return e.getBoundingClientRect().right; })()`)
			assert.LessOrEqual(t, right, float64(c.size.Width), "%s on a %s", u, c.size.Name)
		}
	}
	assert.GreaterOrEqual(t, contrast(b, ".digits"), 7.0)
}

// contrast is that of the text of an element against the page, by WCAG 2.2.
func contrast(b *webtest.Browser, selector string) float64 {
	return webtest.Eval[float64](b, `(() => {
		const light = (c) => { const [r, g, b] = c.match(/[\d.]+/g).map((v) => { v /= 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; }); return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
		const [a, b] = [light(getComputedStyle(document.querySelector("`+selector+`")).color), light(getComputedStyle(document.documentElement).backgroundColor)];
		return (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05); })()`)
}
