package web_test

import (
	"fmt"
	"maps"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/dashboards/web/webtest"
	"tautlog/ingest/needs"
	"tautlog/ingest/store"
)

// traceFile is the pulse of the fixture as another laptop would write it, its
// time in seconds from 0 on.
func traceFile(comma bool) string {
	var b strings.Builder
	b.WriteString("t_s;force_kN\n")
	for i, raw := range pulse() {
		line := fmt.Sprintf("%.3f;%.3f\n", float64(i)/1000, float64(raw)/1000)
		if comma {
			line = strings.ReplaceAll(line, ".", ",")
		}
		b.WriteString(line)
	}
	return b.String()
}

// TestTraceIn brings a recording in as a cell of its own and as one that is
// known, and sees that what is wrong changes nothing.
func TestTraceIn(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	bring := func(text string, fields map[string]string) (int, string) {
		all := map[string]string{"cell": "River-2", "start": "2026-03-15 09:00:00", "who": "A. Keeper"}
		maps.Copy(all, fields)
		res, page := uploaded(t, f, "/files/trace", "file", all, map[string][]byte{"other.csv": []byte(text)})
		return res.StatusCode, spoken(page)
	}
	whole := traceFile(false)

	before := f.dump(t)
	for why, c := range map[string]struct {
		text   string
		fields map[string]string
		want   string
	}{
		"no cell":              {whole, map[string]string{"cell": " "}, "Say whose readings these are."},
		"no start":             {whole, map[string]string{"start": ""}, "say when they were 0"},
		"no moment":            {whole, map[string]string{"start": "nine"}, `"nine" is not a moment: write`},
		"a comma":              {traceFile(true), nil, "Line 2 has a number with a decimal comma. Choose the comma here."},
		"a point":              {strings.ReplaceAll(whole, ",", ";"), map[string]string{"decimal": "comma"}, "Line 2 has a number with a decimal point. Choose the point here."},
		"no unit":              {strings.Replace(whole, "force_kN", "force", 1), nil, "the column force does not say its unit of force. Choose it here."},
		"no force":             {whole, map[string]string{"capacity": "much"}, "much"},
		"another capacity":     {whole, map[string]string{"cell": "River-1", "capacity": "50kN"}, "another capacity: River-1 has 100 kN. Leave this empty."},
		"a last line of words": {whole + "10;slack\n", nil, "line 10002"},
		"dates and a start":    {strings.ReplaceAll(whole, "\n0.000;", "\n2026-03-15T09:00:00Z;")[:40] + "\n", nil, "dates already"},
		"an empty file":        {"", nil, "Nothing was brought in"},
		"half of one":          {"t_s;force_kN\n", nil, "Nothing was brought in"},
		"readings there":       {whole, map[string]string{"cell": "River-1", "start": start.Format(time.RFC3339)}, "stored already"},
	} {
		code, page := bring(c.text, c.fields)
		assert.Equal(t, http.StatusUnprocessableEntity, code, why)
		assert.Contains(t, page, c.want, why)
	}
	res, _ := uploaded(t, f, "/files/trace", "file", map[string]string{"cell": "River-2"}, nil)
	assert.GreaterOrEqual(t, res.StatusCode, 400, "a form without its file")
	assert.Equal(t, before, f.dump(t), "what was refused changed nothing")

	code, page := bring(whole, nil)
	require.Equal(t, http.StatusOK, code, page)
	assert.Contains(t, page, "10,000 readings of River-2 were brought in, from 15 March 2026, 09:00:00 on. One pull was found in them.")
	c, err := f.store.CellByName(t.Context(), "River-2")
	require.NoError(t, err)
	assert.Equal(t, pulse(), readingsOf(t, f.store, c.ID))
	ps, err := f.store.Pulls(t.Context(), store.PullFilter{Cell: c.ID})
	require.NoError(t, err)
	require.Len(t, ps, 1)
	assert.InDelta(t, 40_000, float64(ps[0].Found.Peak), 1)
	assert.Contains(t, f.page(t, "/days/2026-03-15"), fmt.Sprintf(`/pulls/%d"`, ps[0].ID))

	code, page = bring(traceFile(true), map[string]string{"cell": "River-1", "decimal": "comma", "start": "2026-03-16T09:00:00Z"})
	require.Equal(t, http.StatusOK, code, page)
	assert.Equal(t, append(pulse(), pulse()...), readingsOf(t, f.store, f.cell.ID), "of a cell that is known")
}

// TestTraceInWaits sends a trace while readings come: they do not wait for it.
func TestTraceInWaits(t *testing.T) {
	t.Parallel()
	st := newStation(t)
	f := &fixture{store: st.store, pages: st.pages, cell: st.cell}
	require.Eventually(t, func() bool {
		_, _, n, err := st.store.Span(t.Context(), st.cell.ID)
		return err == nil && n > 0
	}, needs.Patience, 10*time.Millisecond)
	res, page := uploaded(t, f, "/files/trace", "file", map[string]string{"cell": "River-9", "start": "2026-03-15 09:00:00"}, map[string][]byte{"other.csv": []byte(traceFile(false))})
	assert.Equal(t, http.StatusConflict, res.StatusCode)
	assert.Contains(t, spoken(page), "Readings of "+st.cell.Name+" are coming just now")
	_, err := st.store.CellByName(t.Context(), "River-9")
	assert.ErrorIs(t, err, store.ErrNotFound)
}

// TestTraceInBrowser goes from the files to the pull of a recording that was
// brought in, on a phone.
func TestTraceInBrowser(t *testing.T) {
	needAssets(t)
	b := webtest.Start(t)
	b.Resize(webtest.Phone())
	f := newFixture(t)
	srv := httptest.NewServer(f.pages)
	t.Cleanup(srv.Close)
	path := filepath.Join(t.TempDir(), "other.csv")
	require.NoError(t, os.WriteFile(path, []byte(traceFile(false)), 0o600))
	b.Open(srv.URL + "/files")
	b.Click(`a[href="/files/trace"]`)
	b.Await(`document.querySelector("#cell") !== null`)
	b.Shoot("tracein-phone")
	assert.Empty(t, barriers(b, axeSource(t)))
	b.Type("#cell", "River-2")
	b.ChooseFile("#file", path)
	const send = `form[action="/files/trace"] button`
	b.Click(send)
	b.Await(`document.querySelector("#start-say")?.textContent.includes("say when they were 0")`)
	b.Shoot("tracein-wrong-phone")
	b.Type("#start", "2026-03-15 09:00:00")
	b.ChooseFile("#file", path)
	b.Click(send)
	b.Await(`document.querySelector('[role="status"]')?.textContent.includes("10,000 readings of River-2")`)
	assert.Empty(t, barriers(b, axeSource(t)))
	b.Shoot("tracein-done-phone")
	b.Click(`[role="status"] a[href^="/pulls"]`)
	b.Await(`document.querySelector('a[href^="/pulls/"]') !== null`)
	assert.Empty(t, b.Errors())
}
