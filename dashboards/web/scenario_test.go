package web_test

import (
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"html"
	"io"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func pagesOf(f *fixture) []string {
	one := fmt.Sprintf("/pulls/%d", f.pull.ID)
	return []string{"/", "/plan", "/plan/kinetic", "/plan/kinetic?rig=single+strap&speed=8km/h&elongation=20%25&length=9m&attempts=3", "/multipliers", "/multipliers?set=log&assume=3", "/multipliers?set=log&only-cell=River-1&only-day=2026-02-02&only-from=2026-01-01&only-to=2026-12-01&by-item=yes", "/multipliers?set=log&only-day=never", "/multipliers/next", "/multipliers/next?limit=60kN", "/plan/steady", "/plan/steady?stuck-mass=3.2t&surface=gravel&rig=single+strap&winch=4t&layer=full", "/plan/force?rig=single+strap&force=30kN", "/line", "/pulls", "/pulls?kind=kinetic&cell=River-1&date=2026-03-14", one, one + "/result", "/gear", "/gear?text=strap&kind=recovery+strap", "/gear?show=trouble", "/gear?show=retired", "/gear?show=removed", "/gear/new", "/gear/1", "/gear/4", "/gear/4/edit", "/gear/labels", "/gear/labels?item=1&item=4&address=http://bar:8080", "/vehicles", "/vehicles/new", "/rigs/1", "/rigs/1/edit", "/rigs/1/text", "/rigs/new", "/rigs/new?from=1", "/rigs", "/cells", "/days", "/days/2026-03-14", "/nothing-here"}
}

// TestEveryPage holds what is true of all pages: cautions, no word that
// permits, no script or style of its own, unit said, chain well formed.
func TestEveryPage(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	for _, target := range pagesOf(f) {
		t.Run(target, func(t *testing.T) {
			res := f.ask("GET", target, nil, nil)
			text := read(t, res)
			assert.Equal(t, "text/html; charset=utf-8", res.Header.Get("Content-Type"))
			assert.Contains(t, res.Header.Get("Content-Security-Policy"), "default-src 'none'")
			assert.NotContains(t, text, "{{", "an unfinished template")
			assert.NotContains(t, text, "%!", "a sentence whose numbers do not fit")
			assert.NotRegexp(t, `(?i)\b(safe|safely|safety|ok|okay|pass|passed|go ahead)\b`, visible(text))
			assert.NotRegexp(t, `(?i)\sstyle=|<style|\son[a-z]+=|javascript:`, text, "what the policy forbids")
			assert.NotRegexp(t, `(?:src|href|action)="(?:https?:)?//`, text, "an address of another machine")
			if !strings.HasSuffix(target, "/result") {
				assert.Contains(t, text, "Everything here is made up")
				assert.Contains(t, text, "Keep people well away from the line")
				assert.Contains(t, text, "maker&#39;s and local rules come first")
			}
			for _, svg := range regexp.MustCompile(`(?s)<svg .*?</svg>`).FindAllString(text, -1) {
				wellFormed(t, svg)
			}
		})
	}
}

// TestLeftOut: what is not known is told as left out of the interval, never as
// too little to matter.
func TestLeftOut(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	assert.Contains(t, spoken(f.page(t, "/pulls/1")), "lag left out; not known")
	assert.Contains(t, spoken(f.page(t, "/pulls/1")), "Zero 0 kN was taken off as the zero; the quiet line wandered by 0.012 kN", "no finer than the noise")
	assert.Contains(t, f.page(t, "/pulls/1"), "</svg>true peak 39.80 to 40.90</li>", "the chart has the digits of the text above it")
}

// visible is what a reader sees of a page: no tags, no quotation of names.
func visible(page string) string {
	page = regexp.MustCompile(`(?s)<(script|head)\b.*?</(script|head)>`).ReplaceAllString(page, " ")
	return html.UnescapeString(regexp.MustCompile(`<[^>]*>`).ReplaceAllString(page, " "))
}

func wellFormed(t *testing.T, svg string) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(svg))
	for {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			return
		} else if err != nil {
			t.Fatalf("%v in %s", err, svg)
		}
	}
}

// TestResult reads the result of the pull as a person does.
func TestResult(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	page := f.page(t, fmt.Sprintf("/pulls/%d", f.pull.ID))
	text := strings.Join(strings.Fields(visible(page)), " ")
	for _, say := range []string{
		"Kinetic pull, 14 March 2026 at 10:00:04", "40.00 kN (true peak 39.80 to 40.90)",
		// 40 kN over 2800 kg · 9.80665 m/s² = 27.458620 kN is 1.4567.
		"1.457 times (true factor 1.449 to 1.490) the weight of Otter, its gross vehicle mass 2.8 t, 27.5 kN. The interval is that of the peak alone: how well the mass is known is not recorded.",
		"10 % to 90 % of 40 kN in 324 ± 12 ms, on average 98.8 ± 4.1 kN per second; steepest 126 kN per second", "12.7 kN·s to the peak, 25.46 ± 0.27 kN·s in all",
		"One reading was left out as an electrical spike.",
		"bow shackle 13: over rating.", "front <b>point</b>: inside rating.",
		"sampling down 0 kN, up 0.88 kN; from the shape around the peak",
	} {
		assert.Contains(t, text, say)
	}
	assert.Less(t, strings.Index(text, "bow shackle 13: over rating"), strings.Index(text, "rear point: inside rating"), "weakest first")
	assert.NotContains(t, page, "<b>point</b>", "a name became markup")
}

// TestUnits asks for the same pull in every unit.
func TestUnits(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	target := fmt.Sprintf("/pulls/%d", f.pull.ID)
	for u, want := range map[string]string{"kN": "40.00 kN", "t": "4.079 t", "kgf": "4079 kgf", "lbf": "8990 lbf", "stone": "40.00 kN"} {
		res := f.ask("GET", target, nil, func(r *http.Request) { r.AddCookie(&http.Cookie{Name: "unit", Value: u}) })
		text := read(t, res)
		assert.Contains(t, text, want, u)
		assert.Equal(t, u == "t", strings.Contains(text, "t after a force means tonne-force"), u)
	}
}

func TestChoiceIsKept(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	for back, want := range map[string]string{"/pulls?kind=proof": "/pulls?kind=proof", "//elsewhere.example/": "/", "https://elsewhere.example/": "/", "/\\elsewhere.example": "/", "": "/"} {
		res := f.ask("POST", "/choose", url.Values{"token": {f.token(t)}, "unit": {"lbf"}, "look": {"night"}, "back": {back}}, nil)
		require.Equal(t, http.StatusSeeOther, res.StatusCode)
		assert.Equal(t, want, res.Header.Get("Location"))
		kept := map[string]string{}
		for _, c := range res.Cookies() {
			kept[c.Name] = c.Value
			assert.True(t, c.HttpOnly && c.SameSite == http.SameSiteStrictMode)
		}
		assert.Equal(t, map[string]string{"unit": "lbf", "look": "night"}, kept)
	}
}

// TestRefused lists what must be refused, and with which answer.
func TestRefused(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	one := fmt.Sprintf("/pulls/%d", f.pull.ID)
	edit := func(more url.Values) url.Values {
		v := url.Values{"token": {f.token(t)}, "version": {fmt.Sprint(f.pull.Version)}, "kind": {"proof"}}
		for k := range more {
			v[k] = more[k]
		}
		return v
	}
	host := func(h string) func(*http.Request) { return func(r *http.Request) { r.Host = h } }
	head := func(k, v string) func(*http.Request) { return func(r *http.Request) { r.Header.Set(k, v) } }
	cases := map[string]struct {
		method, target string
		form           url.Values
		change         func(*http.Request)
		want           int
	}{
		"no such page":              {"GET", "/nothing", nil, nil, 404},
		"no such pull":              {"GET", "/pulls/999", nil, nil, 404},
		"pull by letters":           {"GET", "/pulls/abc", nil, nil, 400},
		"pull by too many digits":   {"GET", "/pulls/99999999999999999999999", nil, nil, 400},
		"negative pull":             {"GET", "/pulls/-1", nil, nil, 404},
		"path upwards":              {"GET", "/assets/x/..%2f..%2fgo.mod", nil, nil, 404},
		"asset of another version":  {"GET", "/assets/0/main.js", nil, nil, 404},
		"no such cell":              {"GET", "/line?cell=nobody", nil, nil, 404},
		"no such kind":              {"GET", "/pulls?kind=jerk", nil, nil, 400},
		"no such date":              {"GET", "/pulls?date=14.3.2026", nil, nil, 400},
		"trace backwards":           {"GET", "/api" + one + "/trace?from=5&to=4", nil, nil, 400},
		"trace of centuries":        {"GET", "/api/trace?from=0&to=9000000000000000000", nil, nil, 400},
		"trace without a window":    {"GET", "/api/trace", nil, nil, 400},
		"trace from nowhere":        {"GET", "/api" + one + "/trace?from=now", nil, nil, 400},
		"columns by letters":        {"GET", "/api" + one + "/trace?columns=many", nil, nil, 400},
		"stream without recorder":   {"GET", "/api/live", nil, nil, 503},
		"reading a form's address":  {"GET", "/line/setup", nil, nil, 405},
		"writing to a page":         {"POST", "/pulls", nil, nil, 405},
		"deleting":                  {"DELETE", one, nil, nil, 405},
		"name of another site":      {"GET", "/", nil, host("pulls.example"), 421},
		"name that only looks ours": {"GET", "/", nil, host("localhost.example:80"), 421},
		"address of the network":    {"GET", "/api/pulls", nil, host("192.168.1.5:8080"), 421},
		"form from another site":    {"POST", one, edit(nil), head("Sec-Fetch-Site", "cross-site"), 403},
		"form from a neighbour":     {"POST", one, edit(nil), head("Sec-Fetch-Site", "same-site"), 403},
		"form of another origin":    {"POST", one, edit(nil), head("Origin", "http://elsewhere.example"), 403},
		"form without token":        {"POST", one, edit(url.Values{"token": nil}), nil, 403},
		"form with a wrong token":   {"POST", one, edit(url.Values{"token": {"guess"}}), nil, 403},
		"choice without token":      {"POST", "/choose", url.Values{"unit": {"t"}}, nil, 403},
		"huge form":                 {"POST", one, edit(url.Values{"notes": {strings.Repeat("a", 100_000)}}), nil, 413},
		"unknown kind of pull":      {"POST", one, edit(url.Values{"kind": {"jerk"}}), nil, 422},
		"version by letters":        {"POST", one, edit(url.Values{"version": {"x"}}), nil, 400},
		"version that has passed":   {"POST", one, edit(url.Values{"version": {"77"}}), nil, 409},
		"edit of no pull":           {"POST", "/pulls/999", edit(nil), nil, 404},
		"undo of nothing":           {"POST", one + "/undo", edit(url.Values{"change": {"1"}}), nil, 404},
		"setup of no cell":          {"POST", "/line/setup", url.Values{"token": {f.token(t)}, "cell": {"nobody"}, "rig": {"1"}}, nil, 404},
		"setup of no rig":           {"POST", "/line/setup", url.Values{"token": {f.token(t)}, "cell": {"River-1"}, "version": {"0"}, "rig": {"99"}}, nil, 404},
	}
	before, err := f.store.Journal(t.Context(), "", 0, 0)
	require.NoError(t, err)
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			res := f.ask(c.method, c.target, c.form, c.change)
			said := read(t, res)
			assert.Equal(t, c.want, res.StatusCode, said)
			if strings.HasPrefix(c.target, "/api/") {
				var e struct{ Error string }
				require.NoError(t, json.Unmarshal([]byte(said), &e), said)
				assert.NotEmpty(t, e.Error)
			}
		})
	}
	after, err := f.store.Journal(t.Context(), "", 0, 0)
	require.NoError(t, err)
	assert.Equal(t, before, after, "a refused request changed something")
}

func TestOwnNames(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	for _, h := range []string{"localhost", "localhost:8080", "127.0.0.1:1", "127.0.0.9", "[::1]:8080"} {
		res := f.ask("GET", "/", nil, func(r *http.Request) { r.Host = h })
		assert.Equal(t, http.StatusOK, res.StatusCode, h)
	}
}
