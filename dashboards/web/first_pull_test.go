package web_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"tautlog/dashboards/web/webtest"
	"tautlog/ingest/store"
)

// TestFirstPullInBrowser opens the live page and touches nothing: a pull of
// the simulated cell comes through the pseudo-terminal, is found, measured
// and judged, and its result appears without reloading. Then the daemon goes
// away and the page says so, and comes back by itself.
func TestFirstPullInBrowser(t *testing.T) {
	needAssets(t)
	b := webtest.Start(t)
	b.Resize(webtest.Laptop())
	st := newStation(t)
	b.Before(noted)
	b.Open(st.url("/line"))
	webtest.Eval[bool](b, "window.untouched = true")

	b.Await(`document.querySelector('[data-part="trace"]').dataset.points > 50`)
	b.Await(`/^-?\d+\.\d$/.test(document.querySelector('[data-part="force"]').textContent)`)
	st.pull()
	b.Await(`window.noted.includes("The line is taut.")`)
	b.Shoot("line-live-taut-laptop")
	b.Await(`document.querySelectorAll("article.result").length > 0`)
	assert.True(t, webtest.Eval[bool](b, "window.untouched === true"), "the page was loaded anew")
	b.Await(`document.querySelector("article.result").dataset.settled === "true"`)
	assert.Regexp(t, `^\d+(\.\d+)? kN\s+\(true peak \d+(\.\d+)? to \d+(\.\d+)?\)$`, b.Text("article.result .peak"))
	assert.Regexp(t, `^\S.*: (inside rating|cannot be judged|over rating|not rated for this use|over breaking strength)\. `, b.Text("article.result .verdicts .weakest"))
	assert.Equal(t, int64(1), webtest.Eval[int64](b, `document.querySelectorAll("article.result").length`), "the settled result took the place of the first one")
	told := webtest.Eval[string](b, `document.querySelector('[data-part="latest"]').textContent.replace(/\s+/g, " ").trim()`)
	peak := webtest.Eval[string](b, `document.querySelector("article.result .peak").firstChild.textContent.trim()`)
	weakest := strings.Replace(b.Text("article.result .verdicts .weakest b"), ": ", ", ", 1)
	assert.Equal(t, fmt.Sprintf("The latest pull: %s Weakest of %d: %s What it did", peak, webtest.Eval[int](b, `document.querySelectorAll("article.result .verdicts li").length`), weakest), told, "beside the number: the result may be out of sight")
	assert.True(t, webtest.Eval[bool](b, `document.querySelector('[data-part="latest"] svg') !== null`), "a verdict is words and a shape")
	assert.True(t, webtest.Eval[bool](b, `document.querySelector('[data-part="unset"]').hidden`))
	top := `document.querySelector('[data-part="trace"]').getBoundingClientRect().top + scrollY`
	slack := webtest.Eval[float64](b, `(document.body.classList.remove("taut"), `+top+`)`)
	assert.Equal(t, slack, webtest.Eval[float64](b, `(document.body.classList.add("taut"), `+top+`)`), "the trace stays where it is when a pull begins")
	for _, size := range []webtest.Size{webtest.Phone(), webtest.Laptop()} {
		b.Resize(size)
		for _, look := range []string{"day", "night"} {
			choose(b, look)
			b.Await(`document.querySelector('[data-part="trace"]').dataset.points > 150`)
			b.Shoot("line-live-" + size.Name + "-" + look)
			assert.LessOrEqual(t, webtest.Eval[int64](b, "document.documentElement.scrollWidth"), size.Width)
		}
	}

	_, err := st.store.SetSetup(t.Context(), store.Setup{Cell: st.cell.ID})
	assert.NoError(t, err)
	b.Await(`document.querySelector('[data-part="rig"]').textContent.includes("No rig is set")`)
	b.Await(`!document.querySelector('[data-part="unset"]').hidden`)

	assert.True(t, webtest.Eval[bool](b, `document.querySelector('[data-part="gone"]').hidden`))
	st.stop()
	b.Await(`!document.querySelector('[data-part="gone"]').hidden`)
	b.Shoot("line-gone-laptop")
	st.start(t, st.addr)
	b.Await(`document.querySelector('[data-part="gone"]').hidden`)
	b.Await(`document.querySelectorAll("article.result").length > 0`)
	assert.Empty(t, b.Errors())
	assert.Empty(t, b.Strangers())
}
