package web_test

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"testing"

	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/dashboards/web/webtest"
	"tautlog/ingest/store"
)

// counted are the pulls of the fixture that count, the earliest first.
func (f *fixture) counted(t testing.TB) []store.Pull {
	t.Helper()
	all, err := f.store.Pulls(t.Context(), store.PullFilter{})
	require.NoError(t, err)
	for i, j := 0, len(all)-1; i < j; i, j = i+1, j-1 {
		all[i], all[j] = all[j], all[i]
	}
	return all
}

// act sends a form of the page that puts a pull right.
func act(t *testing.T, f *fixture, id int64, do string, change url.Values) (*http.Response, string) {
	t.Helper()
	path := fmt.Sprintf("/pulls/%d", id)
	form := url.Values{"version": {fmt.Sprint(f.pullAt(t, id).Version)}, "do": {do}}
	for k, v := range change {
		form[k] = v
	}
	return send(t, f, path+"/review", form)
}

func (f *fixture) pullAt(t testing.TB, id int64) store.Pull {
	t.Helper()
	p, err := f.store.Pull(t.Context(), id)
	require.NoError(t, err)
	return p
}

// TestReviewOnPages parts a pull, joins the parts, sets it aside and logs one
// that was not found, and takes each back: the pages tell it as it is.
func TestReviewOnPages(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	one, day := fmt.Sprintf("/pulls/%d", f.pull.ID), "/days/2026-03-14"
	tried := spoken(f.page(t, one+"/review?at=10:00:04.250"))
	assert.Contains(t, tried, "The first pull")
	assert.Contains(t, tried, "28.2", "sin 45° of 40 kN, a reading earlier")
	assert.Contains(t, tried, "40.0")
	res, page := act(t, f, f.pull.ID, "try", url.Values{"at": {"10:00:04.250"}})
	require.Equal(t, http.StatusOK, res.StatusCode, page)
	assert.Contains(t, spoken(page), "The second pull")
	assert.Equal(t, f.pull, f.now(t), "nothing was kept")

	res, page = act(t, f, f.pull.ID, "part", url.Values{"at": {"0.25 s"}})
	require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
	all := f.counted(t)
	require.Len(t, all, 2)
	second := all[1]
	assert.Equal(t, []any{atMS(4250), f.pull.ID, f.pull.Rig}, []any{second.Found.Start, second.Limits.Of, second.Rig})
	other := fmt.Sprintf("/pulls/%d", second.ID)
	assert.Contains(t, spoken(f.page(t, other)), "Nothing was found there.")
	assert.Contains(t, spoken(f.page(t, other)), fmt.Sprintf("Before the last change: it was one with pull %d.", f.pull.ID))
	assert.Contains(t, spoken(f.page(t, other)), "Join with pull 1, before it")
	assert.Contains(t, spoken(f.page(t, one)), "Join with pull 2, behind it")
	assert.Contains(t, spoken(f.page(t, other+"/report.html")), "; nothing was found there")

	res, page = act(t, f, second.ID, "join", url.Values{"with": {fmt.Sprint(f.pull.ID)}})
	require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
	require.Len(t, f.counted(t), 1)
	assert.Contains(t, spoken(f.page(t, other)), "This was no pull of its own: set aside by")
	assert.Contains(t, spoken(f.page(t, other)), "It is a part of another pull")
	assert.NotContains(t, f.page(t, other), `action="`+other+`/limits`)
	assert.Contains(t, spoken(f.page(t, one)), "Said to be a part of this pull: Pull 2")
	undoLatest(t, f, one, "pull", f.pull.ID)
	require.Len(t, f.counted(t), 2)
	undoLatest(t, f, other, "pull", second.ID)
	require.Len(t, f.counted(t), 1, "joined once more")
	undoLatest(t, f, other, "pull", second.ID)
	changes, err := f.store.Journal(t.Context(), "pull", second.ID, 0)
	require.NoError(t, err)
	_, err = f.store.Undo(t.Context(), changes[len(changes)-1].ID)
	require.NoError(t, err)
	back := f.now(t)
	assert.Equal(t, []any{f.pull.Found, true, 1}, []any{back.Found, back.Limits == nil, len(f.counted(t))})

	res, page = act(t, f, f.pull.ID, "aside", nil)
	require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
	assert.Empty(t, f.counted(t))
	sheet := spoken(f.page(t, day))
	assert.Contains(t, sheet, "Set aside Somebody saw that these were no pulls of their own.")
	assert.Contains(t, f.page(t, "/api"+one), `"aside":{"by":`)
	assert.Equal(t, http.StatusNotFound, f.ask("GET", one+"/report.html", nil, nil).StatusCode)
	assert.NotContains(t, f.page(t, "/pulls"), `href="`+one+`"`)
	assert.Contains(t, spoken(f.page(t, one)), "Before the last change: it counted as a pull of its own.")

	add := sheetAt(t, f.page(t, day+"/trace"), `action="`+day+`/trace`)
	add.Set("start", "10:00:03.900")
	add.Set("end", "10:00:05.100")
	tried = spoken(f.page(t, day+"/added?"+add.Encode()))
	assert.Contains(t, tried, "It would be this")
	assert.Contains(t, tried, "40.0")
	add.Set("do", "keep")
	res, page = send(t, f, day+"/trace", add)
	require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
	made := f.counted(t)[0]
	assert.Equal(t, []any{true, atMS(3900), atMS(5100)}, []any{made.Limits.Made, made.Limits.From, made.Limits.To})
	assert.Contains(t, spoken(f.page(t, res.Header.Get("Location"))), "Before the last change: it was none: nothing was found there.")
	res, page = act(t, f, f.pull.ID, "back", nil)
	assert.Equal(t, http.StatusUnprocessableEntity, res.StatusCode)
	assert.Contains(t, spoken(page), "it would overlap pull")
	res, page = act(t, f, made.ID, "aside", nil)
	require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
	res, page = act(t, f, f.pull.ID, "back", nil)
	require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
	assert.Equal(t, []any{1, f.pull.Found}, []any{len(f.counted(t)), f.now(t).Found})
	require.NoError(t, f.store.Integrity(t.Context()))
}

// TestReviewThatCannotBe: each is refused with one sentence, and nothing changes.
func TestReviewThatCannotBe(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	before := f.now(t)
	for _, c := range []struct {
		do, field, typed, says string
		status                 int
	}{
		{"part", "at", "soon", "is not a moment", http.StatusUnprocessableEntity},
		{"part", "at", "10:00:09", "the moment lies outside the pull", http.StatusUnprocessableEntity},
		{"part", "at", "10:00:04.001", "the first part: ", http.StatusUnprocessableEntity},
		{"join", "with", "1", "not with itself", http.StatusUnprocessableEntity},
		{"join", "with", "99", "", http.StatusNotFound},
		{"join", "with", "x", "", http.StatusBadRequest},
		{"leave", "at", "", "What is to be done with this pull is not said", http.StatusBadRequest},
		{"try", "at", "10:00:09", "the moment lies outside the pull", http.StatusOK},
	} {
		res, page := act(t, f, f.pull.ID, c.do, url.Values{c.field: {c.typed}})
		assert.Equal(t, c.status, res.StatusCode, c.says)
		assert.Contains(t, spoken(page), c.says)
		assert.Equal(t, before, f.now(t), c.says)
	}
	day := "/days/2026-03-14/trace"
	for says, l := range map[string][2]string{
		"The end must lie behind the start.": {"10:00:07", "10:00:06"}, "is not a moment": {"", "10:00:06"}, "it would overlap pull 1": {"10:00:04.5", "10:00:06"},
		"rises far enough above the quiet line": {"10:00:06", "10:00:08"},
	} {
		res, page := send(t, f, day, url.Values{"cell": {"River-1"}, "start": {l[0]}, "end": {l[1]}, "do": {"keep"}})
		assert.Equal(t, http.StatusUnprocessableEntity, res.StatusCode, says)
		assert.Contains(t, spoken(page), says)
	}
	assert.Len(t, f.counted(t), 1)
}

// TestReviewOvertaken: who parts a pull of which somebody has set other limits meanwhile
// is shown them first; what was said of it meanwhile is no reason.
func TestReviewOvertaken(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	one := fmt.Sprintf("/pulls/%d", f.pull.ID)
	begun := sheetAt(t, f.page(t, one), `action="`+one+`/review`)
	limited := sheetAt(t, f.page(t, one), `action="`+one+`/limits`)
	limited.Set("end", "10:00:04.900")
	limited.Set("do", "keep")
	res, page := send(t, f, one+"/limits", limited)
	require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
	begun.Set("at", "10:00:04.250")
	begun.Set("do", "part")
	res, page = send(t, f, one+"/review", begun)
	require.Equal(t, http.StatusConflict, res.StatusCode, page)
	assert.Contains(t, spoken(page), "End It was 10:00:05.000 , it is now 10:00:04.900")
	again := sheetAt(t, page, `action="`+one+`/review`)
	assert.Equal(t, "10:00:04.250", again.Get("at"), "what was typed")
	p := f.now(t)
	p.Notes = "hard"
	_, err := f.store.SavePull(t.Context(), p)
	require.NoError(t, err)
	again.Set("do", "part")
	res, page = send(t, f, one+"/review", again)
	require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
	all := f.counted(t)
	require.Len(t, all, 2)
	assert.Equal(t, []any{"hard", atMS(4900)}, []any{all[0].Notes, all[1].Limits.To})
}

// TestReviewInBrowser parts a pull with the handle in its trace on a laptop and
// on a phone, by keys too, takes that back, joins what was parted, and logs a pull that
// was not found.
func TestReviewInBrowser(t *testing.T) {
	needAssets(t)
	b := webtest.Start(t)
	for _, size := range []webtest.Size{webtest.Laptop(), webtest.Phone()} {
		b.Resize(size)
		f := newFixture(t)
		srv := httptest.NewServer(f.pages)
		defer srv.Close()
		open := func(path string) {
			b.Open(srv.URL + path)
			b.Await(`document.querySelector('[data-part="trace"]').dataset.points > 100`)
		}
		one := fmt.Sprintf("/pulls/%d", f.pull.ID)
		open(one)
		b.Click(`[data-part="parting"] summary`)
		b.Await(handles + " === 1")
		b.Drag(".end-handle.at", 0.4, size.Name == "phone")
		b.Await(`/^10:00:04\.\d\d\d$/.test(document.querySelector("#at").value)`)
		b.Await(`document.querySelector('[data-part="parting"] [data-part="tried"]').textContent.includes("The second pull")`)
		b.Shoot("review-parting-" + size.Name)
		b.Type("#at", "0.25 s")
		b.Press(kb.Tab)
		b.Await(`document.querySelector(".end-handle.at").ariaValueText === "10:00:04.250"`)
		webtest.Eval[bool](b, `(() => { document.querySelector(".end-handle.at").focus(); return true; })()`)
		b.Press(kb.ArrowRight)
		b.Press(kb.ArrowRight)
		b.Press(kb.PageUp)
		b.Await(`document.querySelector("#at").value === "10:00:04.302"`)
		assert.Equal(t, f.pull, f.now(t), "nothing is kept before somebody says so")
		assert.Empty(t, webtest.Eval[[]string](b, tooSmall))
		assert.Empty(t, barriers(b, axeSource(t)))

		b.Click(`[data-part="parting"] button[value="part"]`)
		b.Await(`document.querySelector("#limits")?.textContent.includes("set by hand by")`)
		all := f.counted(t)
		require.Len(t, all, 2)
		assert.Equal(t, []int64{atMS(4302) - 1, atMS(4302)}, []int64{all[0].Limits.To, all[1].Limits.From})
		b.Click(`form[action="` + one + `/undo"] button`)
		b.Await(`document.querySelector("#limits")?.textContent.includes("as it was found")`)
		require.Len(t, f.counted(t), 1)
		b.Click(`form[action="` + one + `/undo"] button`)
		b.Await(`document.querySelector("#limits")?.textContent.includes("set by hand by")`)

		open(fmt.Sprintf("/pulls/%d", all[1].ID))
		b.Click(`[data-part="parting"] summary`)
		b.Click(`[data-part="parting"] button[value="join"]`)
		b.Await(`document.querySelector("#aside")?.textContent.includes("It is a part of another pull")`)
		require.Len(t, f.counted(t), 1)
		assert.Empty(t, barriers(b, axeSource(t)))
		open(one)
		b.Click(`[data-part="parting"] summary`)
		b.Click(`[data-part="parting"] button[value="aside"]`)
		b.Await(`document.querySelector("#aside")?.textContent.includes("This was no pull of its own")`)
		assert.Empty(t, f.counted(t))

		open("/days/2026-03-14/trace")
		b.Click(`[data-part="adding"] summary`)
		b.Await(handles + " === 2")
		b.Await(`/^10:00:0/.test(document.querySelector("#start").value)`)
		b.Drag(".end-handle.start", 0.35, size.Name == "phone")
		b.Await(`document.querySelector('[data-part="adding"] [data-part="tried"]').textContent.includes("It would be this")`)
		b.Shoot("review-adding-" + size.Name)
		assert.Empty(t, barriers(b, axeSource(t)))
		b.Click(`[data-part="adding"] button[value="keep"]`)
		b.Await(`document.querySelector("#limits")?.textContent.includes("Nothing was found there")`)
		require.Len(t, f.counted(t), 1)
		require.NoError(t, f.store.Integrity(t.Context()))
	}
	assert.Empty(t, b.Errors())
	assert.Empty(t, b.Strangers())
}
