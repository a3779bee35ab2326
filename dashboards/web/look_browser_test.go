package web_test

import (
	"encoding/json"
	"fmt"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/rig"
	"tautlog/dashboards/web/webtest"
	"tautlog/ingest/store"
)

// named is a name above a trace, as the chart placed it.
type named struct {
	Name        string
	X, From, To float64
	Row         int
}

// TestNamesOnTraceInBrowser looks at a pull from far and near on both screens:
// every moment that is seen has its name above the trace, no name stands over
// another, and no line runs through one.
func TestNamesOnTraceInBrowser(t *testing.T) {
	needAssets(t)
	b := webtest.Start(t)
	f := newFixture(t)
	srv := httptest.NewServer(f.pages)
	defer srv.Close()
	const box = `document.querySelector('[data-part="trace"]')`
	for _, size := range []webtest.Size{webtest.Phone(), webtest.Laptop()} {
		b.Resize(size)
		b.Open(srv.URL + fmt.Sprintf("/pulls/%d", f.pull.ID))
		b.Await(box + ".dataset.points > 100")
		for i, press := range []string{"whole", "rise", "in", "earlier", "later", "later", "out", "out", "out", "earlier", "earlier", "out", "whole"} {
			before := webtest.Eval[string](b, box+".dataset.shown")
			b.Click(`[data-part="` + press + `"]`)
			if i > 0 {
				b.Await(box + ".dataset.shown !== " + fmt.Sprintf("%q", before))
			}
			where := fmt.Sprintf("step %d, %s, on a %s", i, press, size.Name)
			var names []named
			require.NoError(t, json.Unmarshal([]byte(webtest.Eval[string](b, box+".dataset.names")), &names))
			assert.Len(t, names, webtest.Eval[int](b, `(() => { const [from, to] = `+box+`.dataset.shown.split(" ").map(Number);
				return JSON.parse(document.querySelector("[data-zoom]").dataset.marks).filter((m) => m.at >= from && m.at <= to).length; })()`), where)
			wide := webtest.Eval[float64](b, box+".clientWidth")
			for j, n := range names {
				assert.True(t, n.From >= 0 && n.To <= wide, "%v sticks out, %s", n, where)
				for _, o := range names[:j] {
					assert.False(t, n.Row == o.Row && n.From < o.To && o.From < n.To, "%v over %v, %s", n, o, where)
					assert.False(t, n.Row > o.Row && n.X > o.From && n.X < o.To, "the line of %v through %v, %s", n, o, where)
					assert.False(t, o.Row > n.Row && o.X > n.From && o.X < n.To, "the line of %v through %v, %s", o, n, where)
				}
			}
		}
		assert.Equal(t, "rise from 10 % to 90 %: 324 ms\ntrue peak 39.80 to 40.90\nby the button CFC 60 filter, a thin line: the readings without what shakes faster than a pull (the filter of SAE J211)", b.Text(".key-marks"))
		b.Shoot("names-" + size.Name)
	}
	assert.Empty(t, b.Errors())
}

// overlapping lists the texts of the drawings of rigs that are seen which
// stand over each other or leave their drawing, by the letters that the
// browser really draws.
const overlapping = `[...document.querySelectorAll("svg.chain")].filter((s) => s.checkVisibility()).flatMap((svg) => {
	const frame = svg.getBoundingClientRect();
	const at = [...svg.querySelectorAll("text")].map((e) => [e.textContent, e.getBoundingClientRect()]);
	const out = at.filter(([, a]) => a.left < frame.left - 1 || a.right > frame.right + 1 || a.top < frame.top - 1 || a.bottom > frame.bottom + 1).map(([s]) => s + " leaves the drawing");
	at.forEach(([s, a], i) => at.slice(0, i).forEach(([r, c]) => {
		const h = Math.min(a.height, c.height) * 0.25; // boxes of rows that follow each other touch
		if (a.left < c.right - 1 && c.left < a.right - 1 && a.top < c.bottom - h && c.top < a.bottom - h) out.push(s + " over " + r);
	}));
	return at.length ? out : ["a drawing without words"];
})`

// TestRigsInBrowser looks at the rigs of the manual, with a load and without.
func TestRigsInBrowser(t *testing.T) {
	needAssets(t)
	b := webtest.Start(t)
	f := newFixture(t)
	files, err := filepath.Glob("../../testdata/rigs/*.json")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	pages := []string{fmt.Sprintf("/pulls/%d", f.pull.ID)}
	for _, file := range files {
		r, err := decodeRig(file)
		require.NoError(t, err)
		kept, err := f.store.SaveRig(t.Context(), store.Document[rig.Rig]{Value: r})
		require.NoError(t, err)
		pages = append(pages, fmt.Sprintf("/rigs/%d", kept.ID), "/plan/force?force=20kN..35kN&rig="+url.QueryEscape(r.Name))
	}
	srv := httptest.NewServer(f.pages)
	defer srv.Close()
	for _, size := range []webtest.Size{webtest.Phone(), webtest.Laptop()} {
		b.Resize(size)
		for i, page := range pages {
			b.Open(srv.URL + page)
			assert.Positive(t, webtest.Eval[int](b, `[...document.querySelectorAll("svg.chain")].filter((s) => s.checkVisibility()).length`), page)
			assert.Empty(t, webtest.Eval[[]string](b, overlapping), "%s on a %s", page, size.Name)
			b.Shoot(fmt.Sprintf("rig-%d-%s", i, size.Name))
		}
	}
}

func decodeRig(file string) (rig.Rig, error) {
	f, err := os.Open(file)
	if err != nil {
		return rig.Rig{}, err
	}
	defer f.Close()
	return rig.Decode(f)
}
