package web_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"testing"
	"time"

	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/dashboards/web/webtest"
	"tautlog/ingest/store"
)

// now is the pull of the fixture as it is.
func (f *fixture) now(t testing.TB) store.Pull {
	t.Helper()
	p, err := f.store.Pull(t.Context(), f.pull.ID)
	require.NoError(t, err)
	return p
}

func atMS(ms int64) int64 { return start.UnixNano() + ms*1e6 }

// TestSetLimits goes through the form: what the limits would give, keeping
// them, what is told of them everywhere, undoing, and going back.
func TestSetLimits(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	one := fmt.Sprintf("/pulls/%d", f.pull.ID)
	page := f.page(t, one)
	assert.Contains(t, spoken(page), "From 10:00:04.000 to 10:00:05.000, as it was found.")
	form := sheetAt(t, page, `action="`+one+`/limits`)
	assert.Equal(t, []string{"10:00:04.000", "10:00:05.000"}, []string{form.Get("start"), form.Get("end")})

	// From the half-sine's quarter on, whose force is sin 45° of the top.
	query := url.Values{"start": {"10:00:04.750"}, "end": {"10:00:05.500"}}
	tried := spoken(f.page(t, one+"/limits?"+query.Encode()))
	assert.Contains(t, tried, "28.28 kN")
	assert.Contains(t, tried, "Peak before: 40.00 kN (true peak 39.80 to 40.90); after: 28.28 kN")
	assert.Contains(t, tried, "what the line carried outside them may be more")
	assert.Equal(t, f.pull, f.now(t), "nothing was kept")
	form.Set("start", "10:00:04.750")
	form.Set("end", "1.5 s")
	form.Set("do", "try")
	res, page := send(t, f, one+"/limits", form)
	require.Equal(t, http.StatusOK, res.StatusCode, page)
	assert.Contains(t, spoken(page), "28.28 kN")
	assert.Equal(t, f.pull, f.now(t), "nothing was kept")

	again := sheetAt(t, page, `action="`+one+`/limits`)
	again.Set("do", "keep")
	res, page = send(t, f, one+"/limits", again)
	require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
	p := f.now(t)
	require.NotNil(t, p.Limits)
	assert.Equal(t, []any{atMS(4750), atMS(5500), f.pull.Found}, []any{p.Limits.From, p.Limits.To, p.Limits.Found})
	assert.Equal(t, []any{atMS(4750), atMS(5500), atMS(4750)}, []any{p.Found.Start, p.Found.End, p.Found.PeakAt})
	assert.InDelta(t, 28_284, float64(p.Found.Peak), 1)

	page = f.page(t, one)
	assert.Contains(t, spoken(page), "From 10:00:04.750 to 10:00:05.500, set by hand by "+p.Limits.Who)
	assert.Contains(t, spoken(page), "It was found from 10:00:04.000 to 10:00:05.000, with a peak of 40.00 kN")
	assert.Contains(t, spoken(page), "A person set its start and its end. The line was already under load at that start.")
	assert.Contains(t, spoken(page), "Before the last change: it started and ended as found.")
	var told struct {
		Limits struct {
			SetBy string `json:"set_by"`
			Found pull.Record
		}
		Found pull.Record
	}
	require.NoError(t, json.Unmarshal([]byte(f.page(t, "/api"+one)), &told))
	assert.Equal(t, []any{p.Limits.Who, 40_000.0}, []any{told.Limits.SetBy, told.Limits.Found.Peak})
	assert.Contains(t, told.Found.Flags, pull.FlagSetByHand)

	undoLatest(t, f, one, "pull", f.pull.ID)
	assert.Nil(t, f.now(t).Limits)
	assert.Equal(t, f.pull.Found, f.now(t).Found)
	assert.Contains(t, spoken(f.page(t, one)), "Before the last change: it was set from 10:00:04.750 to 10:00:05.500.")
	undoLatest(t, f, one, "pull", f.pull.ID)
	assert.Equal(t, p.Found, f.now(t).Found)

	back := sheetAt(t, f.page(t, one), `action="`+one+`/limits`)
	back.Set("do", "found")
	res, page = send(t, f, one+"/limits", back)
	require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
	assert.Nil(t, f.now(t).Limits)
	assert.Equal(t, f.pull.Found, f.now(t).Found)
	require.NoError(t, f.store.Integrity(t.Context()))
}

// TestLimitsThatCannotBe: each is refused where it was typed, with one
// sentence, by the preview as well, and nothing changes.
func TestLimitsThatCannotBe(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	one := fmt.Sprintf("/pulls/%d", f.pull.ID)
	before := f.now(t)
	for _, c := range []struct{ start, end, says string }{
		{"10:00:05.000", "10:00:04.000", "The end must lie behind the start."},
		{"soon", "10:00:05.000", "“soon” is not a moment"},
		{"10:00:04.000", "", "is not a moment"},
		{"10:00:04.0", "25:00:00", "is not a moment"},
		{"10:00:06.000", "10:00:08.000", "nothing between its limits rises far enough"},
		{"09:00:00.000", "09:00:01.000", "there is no reading between its limits"},
		{"10:00:04.000", "10:00:40.000", "nothing was recorded at that end"},
		{"09:59:00.000", "10:00:05.000", "nothing was recorded at that start"},
		{"10:00:04.000", "19:00:00.000", "more than six hours"},
	} {
		form := sheetAt(t, f.page(t, one), `action="`+one+`/limits`)
		form.Set("start", c.start)
		form.Set("end", c.end)
		form.Set("do", "keep")
		res, page := send(t, f, one+"/limits", form)
		assert.Equal(t, http.StatusUnprocessableEntity, res.StatusCode, c.says)
		said := spoken(page)
		assert.Contains(t, said, "Nothing was kept yet")
		says := c.says
		if c.start == "soon" {
			says = "is not a moment"
		}
		assert.Contains(t, said, says)
		again := sheetAt(t, page, `action="`+one+`/limits`)
		assert.Equal(t, []string{c.start, c.end}, []string{again.Get("start"), again.Get("end")}, "what was typed stays")
		assert.Contains(t, spoken(f.page(t, one+"/limits?"+url.Values{"start": {c.start}, "end": {c.end}}.Encode())), says)
		assert.Equal(t, before, f.now(t), c.says)
	}
	for _, form := range []url.Values{{"start": {"10:00:04.1"}, "end": {"10:00:05"}}, {"start": {"10:00:04.1"}, "end": {"10:00:05"}, "version": {"one"}}} {
		res, _ := send(t, f, one+"/limits", form)
		assert.Equal(t, http.StatusBadRequest, res.StatusCode, "without a version")
	}
	assert.Equal(t, before, f.now(t))

	open, err := f.store.SavePull(t.Context(), store.Pull{Cell: f.cell.ID, Found: laterFound(7000, 8000)})
	require.NoError(t, err)
	path := fmt.Sprintf("/pulls/%d", open.ID)
	assert.NotContains(t, f.page(t, path), `action="`+path+`/limits`, "it may still go on")
	res, page := send(t, f, path+"/limits", url.Values{"version": {"1"}, "start": {"10:00:04.100"}, "end": {"10:00:04.900"}})
	assert.Equal(t, http.StatusUnprocessableEntity, res.StatusCode, page)
}

// laterFound is a pull as found at another time.
func laterFound(from, to int64) pull.Pull {
	p := found()
	p.Start, p.End, p.PeakAt = atMS(from), atMS(to), atMS((from+to)/2)
	return p
}

// TestLimitsInBrowser drags the handles in the trace on a laptop and on a phone,
// sees what that gives, moves one by keys, types a time, keeps, and goes back.
func TestLimitsInBrowser(t *testing.T) {
	needAssets(t)
	b := webtest.Start(t)
	for _, size := range []webtest.Size{webtest.Laptop(), webtest.Phone()} {
		b.Resize(size)
		f := newFixture(t)
		srv := httptest.NewServer(f.pages)
		defer srv.Close()
		b.Open(srv.URL + fmt.Sprintf("/pulls/%d", f.pull.ID))
		b.Await(`document.querySelector('[data-part="trace"]').dataset.points > 100`)
		assert.Equal(t, int64(0), webtest.Eval[int64](b, handles), "while the form is folded away")
		b.Click(`[data-part="limits"] summary`)
		b.Await(handles + " === 2")

		b.Drag(".end-handle.start", 0.5, size.Name == "phone") // to the middle of what is shown: from 4 s to 4.5 s
		b.Await(`/^10:00:04\.[45]\d\d$/.test(document.querySelector("#start").value)`)
		b.Await(`document.querySelector('[data-part="tried"]').textContent.includes("Impulse")`)
		dragged := webtest.Eval[string](b, `document.querySelector("#start").value`)
		assert.Equal(t, dragged, webtest.Eval[string](b, `document.querySelector(".end-handle.start").ariaValueText`))
		assert.Equal(t, "10:00:05.000", webtest.Eval[string](b, `document.querySelector("#end").value`), "the other stays")
		b.Shoot("limits-dragged-" + size.Name)
		shown := webtest.Eval[string](b, `document.querySelector('[data-part="trace"]').dataset.shown`)

		webtest.Eval[bool](b, `(() => { document.querySelector(".end-handle.end").focus(); return true; })()`)
		b.Press(kb.ArrowLeft)
		b.Press(kb.ArrowLeft)
		b.Press(kb.PageDown)
		b.Await(`document.querySelector("#end").value === "10:00:04.948"`)
		assert.Equal(t, shown, webtest.Eval[string](b, `document.querySelector('[data-part="trace"]').dataset.shown`), "the chart did not zoom")

		b.Type("#start", "0.75 s")
		b.Press(kb.Tab)
		b.Await(`document.querySelector('[data-part="tried"]').innerText.replace(/\s+/g, " ").includes("28.28 kN")`)
		b.Await(`document.querySelector(".end-handle.start").ariaValueText === "10:00:04.750"`)
		assert.Equal(t, f.pull, f.now(t), "nothing is kept before somebody says so")
		assert.Empty(t, webtest.Eval[[]string](b, tooSmall))
		assert.Empty(t, barriers(b, axeSource(t)))

		b.Click(`[data-part="limits"] button[value="keep"]`)
		b.Await(`document.querySelector("#limits")?.textContent.includes("set by hand by")`)
		p := f.now(t)
		require.NotNil(t, p.Limits)
		assert.Equal(t, []int64{atMS(4750), atMS(4948)}, []int64{p.Limits.From, p.Limits.To})
		b.Click(`[data-part="limits"] summary`)
		b.Click(`[data-part="limits"] button[value="found"]`)
		b.Await(`document.querySelector("#limits")?.textContent.includes("as it was found")`)
		assert.Nil(t, f.now(t).Limits)
		assert.Equal(t, f.pull.Found, f.now(t).Found)
	}
	assert.Empty(t, b.Errors())
	assert.Empty(t, b.Strangers())
}

// handles counts those that are to be seen.
const handles = `[...document.querySelectorAll(".end-handle")].filter((e) => e.checkVisibility()).length`

// TestReportOfLimits: the report says who set them and what was found, on the
// page as in the export.
func TestReportOfLimits(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	one := fmt.Sprintf("/pulls/%d", f.pull.ID)
	assert.NotContains(t, f.page(t, one+"/report.html"), "set by hand")
	form := sheetAt(t, f.page(t, one), `action="`+one+`/limits`)
	form.Set("start", "10:00:04.750")
	form.Set("do", "keep")
	res, page := send(t, f, one+"/limits", form)
	require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
	assert.Contains(t, spoken(f.page(t, one+"/report.html")),
		"10:00:04.750 to 10:00:05.000, set by hand by "+f.now(t).Limits.Who+", "+time.Unix(0, f.now(t).Limits.At).UTC().Format("2 January 2006, 15:04")+
			"; found were 10:00:04.000 to 10:00:05.000, with a peak of 40.00 kN (true peak 39.80 to 40.90)")
	table := f.page(t, "/days/2026-03-14/pulls.csv")
	assert.Contains(t, table, ",limits_set_by,found_start,found_end")
	assert.Contains(t, table, ","+f.now(t).Limits.Who+",2026-03-14T10:00:04Z,2026-03-14T10:00:05Z")
}
