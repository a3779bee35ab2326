package web_test

import (
	"html"
	"maps"
	"net/http"
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
		assert.Equal(t, heads.FindAllString(outside, -1), heads.FindAllString(page, -1), where)
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
