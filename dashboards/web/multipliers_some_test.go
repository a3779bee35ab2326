package web_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/shock"
	"tautlog/calc/calibrate"
	"tautlog/calc/words"
	"tautlog/ingest/store"
)

// some is the page of some pulls of the log, and the name that they have in an
// address.
func (f *fixture) some(t *testing.T, q url.Values) (said, ref string) {
	t.Helper()
	q.Set("set", "log")
	page := f.page(t, "/multipliers?"+q.Encode())
	return strings.Join(strings.Fields(visible(page)), " "), hidden(t, page[strings.Index(page, `action="/multipliers#check"`):], "set")
}

// TestSomePullsOfTheLog: a fit, its check, its files and what is kept of it are of
// the pulls that are chosen, as the store has them when it is asked past the pages.
func TestSomePullsOfTheLog(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	f.history(t)
	other, err := f.store.SaveCell(t.Context(), store.Cell{Name: "River-2", Curve: calibrate.Curve{Coefficients: []float64{0, 1}}, Rate: 1000})
	require.NoError(t, err)
	far := found()
	far.Peak, far.PeakLow, far.PeakHigh, far.Flags = 70e3, 69e3, 71e3, nil
	_, err = f.store.SavePull(t.Context(), store.Pull{Cell: other.ID, Found: far, Rig: &f.rig.Value, Ground: "lava", Settled: true})
	require.NoError(t, err)
	log, err := f.store.Logged(t.Context(), store.PullFilter{}, time.UTC)
	require.NoError(t, err)
	first := log[0].Day
	days := map[string]int{}
	for _, l := range log {
		days[l.Day]++
	}
	from, err := time.Parse(time.DateOnly, first)
	require.NoError(t, err)
	for name, c := range map[string]struct {
		q     url.Values
		pulls int
		says  string
	}{
		"cell":   {form("only-cell", "River-2"), 1, "Only pulls that River-2 read."},
		"day":    {form("only-day", first), days[first], "Only pulls of the test day " + words.DateOf(first) + "."},
		"from":   {form("only-from", from.AddDate(0, 0, 2).Format(time.DateOnly)), len(log) - days[first] - days[from.AddDate(0, 0, 1).Format(time.DateOnly)], "Only pulls from"},
		"to":     {form("only-to", from.AddDate(0, 0, 1).Format(time.DateOnly)+" 00:00"), days[first], "Only pulls before"},
		"both":   {form("only-cell", "River-1", "only-to", from.AddDate(0, 0, 1).Format(time.DateOnly)), days[first], "Only pulls that River-1 read."},
		"byitem": {form("by-item", "yes"), len(log), "Each strap is a class by its name, not by its kind."},
	} {
		t.Run(name, func(t *testing.T) {
			require.Positive(t, c.pulls)
			said, ref := f.some(t, c.q)
			says(t, said, "What some pulls of the log say")
			says(t, said, c.says)
			var k shock.Kept
			require.NoError(t, json.Unmarshal([]byte(f.page(t, "/api/multipliers?"+form("set", ref).Encode())), &k))
			assert.Len(t, k.Pulls, c.pulls)
			says(t, f.said(t, "/multipliers?"+form("set", ref).Encode()), c.says)
		})
	}

	said, ref := f.some(t, form("by-item", "yes", "only-cell", "River-1"))
	says(t, said, "kinetic, silt, blue strap 9 m: plan with")
	assert.NotContains(t, said, "lava")
	said = f.said(t, "/multipliers?"+form("set", ref, "assume", "3", "strap", "blue strap 9 m", "ground", "silt").Encode())
	says(t, said, "Supported.")
	says(t, said, fmt.Sprintf("Held against the %d pulls of the log that are chosen.", len(log)-1))
	assert.Contains(t, f.page(t, "/api/multipliers/classes?"+form("set", ref).Encode()), "blue strap 9 m")

	res := f.post(t, "/multipliers/keep", form("name", "by item", "of", ref))
	require.Equal(t, http.StatusSeeOther, res.StatusCode, read(t, res))
	k, err := f.store.Set(t.Context(), "by item", 1)
	require.NoError(t, err)
	assert.Len(t, k.Pulls, len(log)-1)
	assert.Equal(t, "blue strap 9 m", k.Fit.Classes[0].Strap)
}

// TestAChoiceOfPullsThatIsWrong is told beside its field, and refused where no
// page is asked for.
func TestAChoiceOfPullsThatIsWrong(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	f.history(t)
	for _, c := range []struct{ field, typed, say string }{
		{"only-cell", "River-9", "There is no cell that is called River-9."},
		{"only-day", "night drill", "The log has no such pulls."},
		{"only-from", "yesterday", "yesterday"},
		{"only-from", "2099-01-01", "The log has no such pulls."},
		{"only-to", "1999-01-01", "The log has no such pulls."},
	} {
		page := f.page(t, "/multipliers?"+form("set", "log", c.field, c.typed).Encode())
		assert.Contains(t, page, `aria-describedby="`+c.field+`-say" aria-invalid="true"`, c.typed)
		says(t, visible(page), c.say)
		assert.Contains(t, page, `<details class="more" open>`)
		ref := "log?" + form(c.field, c.typed).Encode()
		assert.Equal(t, http.StatusBadRequest, f.ask("GET", "/api/multipliers?"+form("set", ref).Encode(), nil, nil).StatusCode, c.typed)
		before := f.dump(t)
		assert.Equal(t, http.StatusBadRequest, f.post(t, "/multipliers/keep", form("name", "x", "of", ref)).StatusCode)
		assert.Equal(t, before, f.dump(t))
	}
	page := f.page(t, "/multipliers?"+form("set", "log", "only-from", "2026-03-01", "only-to", "2026-02-01").Encode())
	assert.Contains(t, page, `aria-describedby="only-to-say" aria-invalid="true"`)
	assert.Equal(t, http.StatusBadRequest, f.post(t, "/multipliers/keep", form("name", "x", "of", "rule of thumb@0")).StatusCode)
	assert.Equal(t, http.StatusOK, f.ask("GET", "/multipliers?set=log%3F", nil, nil).StatusCode)
	assert.Equal(t, http.StatusOK, newEmptyFixture(t).ask("GET", "/multipliers?set=log%3F", nil, nil).StatusCode)
}
