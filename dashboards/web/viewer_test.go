package web_test

import (
	"fmt"
	"html"
	"maps"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/dashboards/people"
	"tautlog/dashboards/web/webtest"
)

var postForm = regexp.MustCompile(`(?s)<form method="post"[^>]*>`)

// mayBeSent are the forms that a viewer gets: they change what their browser
// keeps.
var mayBeSent = regexp.MustCompile(`action="/(choose|sign-out)"`)

// formsOnly are headings below which there are only forms, or links to them.
var formsOnly = []string{"Pictures", "Out of service", "Start a test day", "Bring in a trace", "Bring in a register"}

// TestViewerSeesWhatIsKnown: what an operator wrote of a pull stands in a form;
// a viewer reads it all the same.
func TestViewerSeesWhatIsKnown(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	viewer := fromPhone(signedIn(t, f.open(t), "Jun", people.Viewer))
	where := fmt.Sprintf("/pulls/%d", f.pull.ID)
	res := f.post(t, where, url.Values{"version": {fmt.Sprint(f.now(t).Version)}, "kind": {"kinetic"}, "speed": {"8 km/h"}, "depth": {"wheel"}, "notes": {"strap eye <twisted>"}})
	require.Equal(t, http.StatusSeeOther, res.StatusCode)
	said := spoken(read(t, f.ask("GET", where, nil, viewer)))
	assert.Contains(t, said, "What you know of it Kind of pull kinetic")
	assert.Contains(t, said, "Speed 8 km/h It sat to the wheels Notes strap eye <twisted>")
	assert.NotContains(t, said, "Attempt", "what is not known is left out")
}

// TestViewerGetsNoForms walks through all pages as a viewer: no form that would
// be refused is in what is sent, and everything else that an operator gets is.
func TestViewerGetsNoForms(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	d := f.open(t)
	viewer, operator := fromPhone(signedIn(t, d, "Jun", people.Viewer)), fromPhone(signedIn(t, d, "Mira", people.Operator))
	forms := 0
	for where, page := range f.everywhere(t, viewer) {
		if !strings.Contains(page, "<main") {
			continue
		}
		for _, form := range postForm.FindAllString(page, -1) {
			assert.Regexp(t, mayBeSent, form, where)
		}
		assert.Equal(t, strings.Count(page, "<form"), strings.Count(page, "</form>"), where)
		assert.Equal(t, strings.Count(page, "<details"), strings.Count(page, "</details>"), where)
		all := read(t, f.ask("GET", where, nil, operator))
		forms += len(postForm.FindAllString(all, -1)) - len(postForm.FindAllString(page, -1))
		heads := regexp.MustCompile(`<h[1-3][^>]*>[^<]+`)
		outside := regexp.MustCompile(`(?s)<form method="post".*?</form>`).ReplaceAllString(all, "")
		assert.NotRegexp(t, `<h([23])[^>]*>[^<]*</h[23]>\s*(</section>|</main>|<h2)`, page, "%s: a heading with nothing below it", where)
		left := heads.FindAllString(page, -1)
		for _, h := range heads.FindAllString(outside, -1) {
			if !slices.Contains(formsOnly, h[strings.Index(h, ">")+1:]) {
				assert.Contains(t, left, h, where)
			}
		}
	}
	assert.Greater(t, forms, 40, "an operator gets forms")
}

// TestViewerGetsNoLinksToNowhere follows every link as a viewer: none is refused,
// and none leads to a place of a page that is not there. An operator gets those
// that are left out.
func TestViewerGetsNoLinksToNowhere(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	d := f.open(t)
	viewer, operator := fromPhone(signedIn(t, d, "Jun", people.Viewer)), fromPhone(signedIn(t, d, "Mira", people.Operator))
	followed, links := map[string]bool{}, regexp.MustCompile(`<a [^>]*href="([^"]*)"`)
	all := f.everywhere(t, viewer)
	for where, page := range all {
		if !strings.Contains(page, "<main") {
			continue
		}
		assert.NotRegexp(t, `<p class="ways">\s*</p>`, page, where)
		for _, m := range links.FindAllStringSubmatch(page, -1) {
			to, place, _ := strings.Cut(html.UnescapeString(m[1]), "#")
			if to == "" {
				assert.Contains(t, page, `id="`+place+`"`, "%s: #%s", where, place)
			}
			if !strings.HasPrefix(to, "/") || followed[alike(to)] {
				continue
			}
			followed[alike(to)] = true
			assert.Equal(t, http.StatusOK, f.ask("GET", to, nil, viewer).StatusCode, "%s: %s", where, to)
		}
	}
	for where, link := range map[string]string{"/gear": "/gear/new", "/vehicles": "/vehicles/new", "/rigs": "/rigs/new", "/cells": "/cells/new", "/gear/1": "/gear/1/edit", "/rigs/1": "/rigs/1/edit"} {
		assert.NotContains(t, all[where], `href="`+link+`"`, where)
		assert.Contains(t, read(t, f.ask("GET", where, nil, operator)), `href="`+link+`"`, where)
		assert.Equal(t, http.StatusForbidden, f.ask("GET", link, nil, viewer).StatusCode, link)
		assert.Equal(t, http.StatusOK, f.ask("GET", link, nil, operator).StatusCode, link)
	}
}

// TestViewerInBrowser opens every page as a viewer: their scripts go without the
// forms that are left out.
func TestViewerInBrowser(t *testing.T) {
	needAssets(t)
	b := webtest.Start(t)
	b.Resize(webtest.Phone())
	f := newFixture(t)
	url, d := f.network(t)
	signIn(t, b, url, d, "Jun", people.Viewer)
	other := fromPhone(signedIn(t, d, "Ola", people.Viewer))
	pages := f.everywhere(t, func(r *http.Request) { other(r); r.Host = strings.TrimPrefix(url, "http://") })
	for _, where := range slices.Sorted(maps.Keys(pages)) {
		if !strings.Contains(pages[where], "<main") {
			continue
		}
		b.Open(url + where)
		b.Await(`document.readyState === "complete"`)
		require.Empty(t, b.Errors(), where)
	}
}
