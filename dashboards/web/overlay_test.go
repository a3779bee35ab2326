package web_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/dashboards/web/webtest"
	"tautlog/ingest/store"
)

// second adds a pull of half the force, a minute after the first.
func (f *fixture) second(t *testing.T) store.Pull {
	t.Helper()
	half := pulse()
	for i := range half {
		half[i] /= 2
	}
	require.NoError(t, f.store.Append(t.Context(), []store.Run{{Cell: f.cell.ID, Start: start.UnixNano() + 60e9, Step: 1e6, Raw: half}}))
	at := found()
	for _, when := range []*int64{&at.Start, &at.End, &at.PeakAt, &at.RiseFrom} {
		*when += 60e9
	}
	at.Peak, at.PeakLow, at.PeakHigh, at.Impulse = at.Peak/2, at.PeakLow/2, at.PeakHigh/2, at.Impulse/2
	p, err := f.store.SavePull(t.Context(), store.Pull{Cell: f.cell.ID, Found: at, Rig: &f.rig.Value, Settled: true})
	require.NoError(t, err)
	return p
}

// TestOverlay: what is told of two pulls is what their comparison says, and
// their courses are their readings.
func TestOverlay(t *testing.T) {
	f := newFixture(t)
	other := f.second(t)
	path := fmt.Sprintf("/pulls/%d/over", f.pull.ID)
	page := f.page(t, path)
	assert.NotContains(t, page, "data-figure", "nothing is laid over yet")
	assert.NotContains(t, page, "Nothing is laid over yet", "nobody has asked")
	assert.Contains(t, spoken(f.page(t, path+"?align=onset")), "Nothing is laid over yet. Tick one, two or three of the pulls below, then press Lay over.", "as the form sends it with none ticked")
	page = f.page(t, fmt.Sprintf("%s?with=%d&align=peak", path, other.ID))
	assert.NotContains(t, page, "Nothing is laid over yet")
	d := pull.Compare(f.pull.Found, other.Found, true).Peak
	require.True(t, d.Told())
	assert.InDelta(t, -20_000, d.Value, 1e-9)
	assert.Contains(t, page, "-20.00 kN (95 % interval -20.89 kN to ")
	assert.Contains(t, page, "no difference that can be told", "the rise took as long")
	assert.Contains(t, spoken(page), "Mean rise rate no difference that can be told")
	assert.Regexp(t, `Shock factor 0\.7[0-9]* times \(true factor .*\), that of the first 1\.4[0-9]* times \(true factor`, spoken(page))

	var got struct {
		Unit    string
		Courses []struct {
			Name  string
			At    float64   `json:"peak_s"`
			From  float64   `json:"from_s"`
			Step  float64   `json:"step_s"`
			Force []float64 `json:"force"`
		}
	}
	require.NoError(t, json.Unmarshal([]byte(f.page(t, fmt.Sprintf("/api%s?with=%d&align=peak", path, other.ID))), &got))
	require.Len(t, got.Courses, 2)
	for i, peak := range []float64{40, 20} {
		c := got.Courses[i]
		assert.Zero(t, c.At, "aligned at the peak")
		assert.InDelta(t, peak, c.Force[int(-c.From/c.Step+0.5)], 0.05*peak)
	}
	for _, wrong := range []string{"?align=middle", "?with=x", "?with=999", "?with=2&with=3&with=4&with=5"} {
		assert.GreaterOrEqual(t, f.ask("GET", path+wrong, nil, nil).StatusCode, http.StatusBadRequest, wrong)
	}
}

// TestOverlayInBrowser lays a pull over another by the form of the page.
func TestOverlayInBrowser(t *testing.T) {
	needAssets(t)
	b := webtest.Start(t)
	f := newFixture(t)
	other := f.second(t)
	axe := axeSource(t)
	srv := httptest.NewServer(f.pages)
	defer srv.Close()
	for _, size := range []webtest.Size{webtest.Phone(), webtest.Laptop()} {
		b.Resize(size)
		b.Open(srv.URL + fmt.Sprintf("/pulls/%d/over", f.pull.ID))
		b.Click(fmt.Sprintf(`input[name="with"][value="%d"]`, other.ID))
		b.Click(`form[action$="/over"] button`)
		b.Await(`document.querySelector('[data-points="2"]') !== null`)
		assert.Contains(t, b.Text(`[data-part="key"]`), "Pull 2: thin")
		for _, look := range []string{"day", "night"} {
			choose(b, look)
			b.Await(`document.querySelector('[data-points="2"]') !== null`)
			assert.Empty(t, barriers(b, axe))
			assert.Empty(t, webtest.Eval[[]string](b, tooSmall))
			assert.LessOrEqual(t, webtest.Eval[int64](b, "document.documentElement.scrollWidth"), size.Width)
			b.Shoot("overlay-" + size.Name + "-" + look)
		}
	}
	assert.Empty(t, b.Errors())
}
