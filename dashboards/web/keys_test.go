package web_test

import (
	"fmt"
	"net/http/httptest"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/dashboards/people"
	"tautlog/dashboards/web/webtest"
)

// TestKeysInBrowser goes through pages by the Tab key alone: first the way
// past the head, then everything that can be pressed, each with its focus
// drawn.
func TestKeysInBrowser(t *testing.T) {
	needAssets(t)
	b := webtest.Start(t)
	f := newFixture(t)
	signedIn(t, f.open(t), "Jun", people.Viewer)
	srv := httptest.NewServer(f.pages)
	defer srv.Close()
	for _, path := range []string{"/", "/line", fmt.Sprintf("/pulls/%d", f.pull.ID), "/gear/4", "/people", "/plan/kinetic", "/cells/River-1"} {
		b.Open(srv.URL + path)
		want := webtest.Eval[[]string](b, pressable)
		require.NotEmpty(t, want)
		assert.Contains(t, want[0], `class="skip"`, path)
		reached := map[string]bool{}
		for range len(want) + 5 {
			b.Press("\t")
			at := webtest.Eval[[]string](b, focused)
			reached[at[0]] = true
			assert.Equal(t, "drawn", at[1], "the focus on %s of %s is not to be seen", at[0], path)
		}
		for _, w := range want {
			assert.True(t, reached[w], "%s: no key leads to %s", path, w)
		}
	}
}

// pressable lists what a person can press or fill in on the page.
const pressable = `[...document.querySelectorAll("a[href], button, select, input, textarea, summary")]
	.filter((e) => e.checkVisibility() && e.type !== "hidden" && !e.disabled && getComputedStyle(e).display !== "none")
	.map((e) => e.outerHTML.slice(0, 200))`

// focused is what has the focus, and whether that is to be seen.
const focused = `(() => { const e = document.activeElement, s = getComputedStyle(e);
	return [e.outerHTML.slice(0, 200), e === document.body || s.outlineStyle !== "none" && parseFloat(s.outlineWidth) >= 2 ? "drawn" : "not drawn"]; })()`

// TestPhoneCodeInBrowser presses for a code and looks at it.
func TestPhoneCodeInBrowser(t *testing.T) {
	needAssets(t)
	b := webtest.Start(t)
	f := newFixture(t)
	signedIn(t, f.open(t), "Jun", people.Viewer)
	srv := httptest.NewServer(f.pages)
	defer srv.Close()
	b.Resize(webtest.Phone())
	b.Open(srv.URL + "/people")
	b.Click(`form[action="/people/1/phone"] button`)
	b.Await(`document.querySelector(".codes svg") !== null`)
	assert.Equal(t, "Sign a phone in as Jun", b.Text("#phone-head"))
	assert.Empty(t, barriers(b, axeSource(t)))
	b.Shoot("people-code-phone")
	assert.Empty(t, b.Errors())
}
