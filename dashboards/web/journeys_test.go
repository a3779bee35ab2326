package web_test

import (
	"fmt"
	"net/http/httptest"
	"strconv"
	"strings"
	"testing"
	"unicode"

	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/dashboards/web/webtest"
)

// here tells what has the focus: what it is called, and whether it is seen to
// have it.
const here = `(() => { const e = document.activeElement, s = getComputedStyle(e);
	const called = e.getAttribute("aria-label") || e.labels?.[0]?.textContent || e.textContent;
	return [called.trim().replace(/\s+/g, " "), s.outlineStyle !== "none" && parseFloat(s.outlineWidth) >= 2 ? "seen" : "not seen"]; })()`

// goTo presses Tab until something called so has the focus, as a person does
// who has no mouse.
func goTo(t *testing.T, b *webtest.Browser, called string) {
	t.Helper()
	b.Await(`document.readyState === "complete"`)
	var passed []string
	for range 120 {
		b.Press("\t")
		at := webtest.Eval[[]string](b, here)
		if rest, ok := strings.CutPrefix(at[0], called); ok && (rest == "" || !unicode.IsLetter(rune(rest[0]))) {
			require.Equal(t, "seen", at[1], "the focus on %s", at[0])
			return
		}
		passed = append(passed, at[0])
	}
	require.Fail(t, "no key leads to "+called, "passed: %q", passed)
}

// arrive waits for a page by its heading.
func arrive(b *webtest.Browser, heading string) {
	b.Await(`document.readyState === "complete" && document.querySelector("h1")?.innerText.replace(/\s+/g, " ").startsWith(` + strconv.Quote(heading) + `)`)
}

// TestJourneysByKeys goes the three journeys without a mouse: a test day is
// started and gone through, a pull is looked into, a pull is planned.
func TestJourneysByKeys(t *testing.T) {
	needAssets(t)
	b := webtest.Start(t)
	f := newFixture(t)
	f.history(t)
	srv := httptest.NewServer(f.pages)
	defer srv.Close()
	start := func(with string) {
		b.Open(srv.URL)
		goTo(t, b, with)
		b.Press(kb.Enter)
	}

	start("Run a test day")
	arrive(b, "Days")
	goTo(t, b, "Name")
	b.Press("evening practice")
	goTo(t, b, "Start the day")
	b.Press(kb.Enter)
	arrive(b, "evening practice")
	goTo(t, b, "A damper lies on the line.")
	b.Press(" ")
	goTo(t, b, "Keep it")
	b.Press(kb.Enter)
	b.Await(`document.body.innerText.includes("6 of 7 have not been gone through.")`)
	goTo(t, b, "To the line")
	b.Press(kb.Enter)
	arrive(b, "The line")

	start("Look back at pulls")
	arrive(b, "Pulls")
	goTo(t, b, "40.00 kN")
	b.Press(kb.Enter)
	arrive(b, "Kinetic pull")
	b.Await(`document.querySelector('[data-part="trace"]').dataset.points > 100`)
	goTo(t, b, "Force on the line during this pull")
	b.Press(kb.ArrowRight)
	assert.Regexp(t, `^-?\d+\.\d{3} s: .* kN$`, b.Text(`[data-part="said"]`))
	goTo(t, b, "The rise")
	b.Press(kb.Enter)
	b.Await(`document.querySelector('[data-part="trace"]').dataset.few === "false"`)
	goTo(t, b, "Notes")
	b.Press("looked into by keys")
	webtest.Eval[bool](b, "window.before = true")
	goTo(t, b, "Keep it")
	b.Press(kb.Enter)
	b.Await(`window.before === undefined && document.readyState === "complete" && document.querySelector("textarea")?.value === "looked into by keys"`)
	p, err := f.store.Pull(t.Context(), f.pull.ID)
	require.NoError(t, err)
	assert.Equal(t, "looked into by keys", p.Notes)

	start("Plan a pull")
	arrive(b, "Plan a pull")
	goTo(t, b, "A kinetic pull")
	b.Press(kb.Enter)
	arrive(b, "Plan a kinetic pull")
	goTo(t, b, "Rig")
	b.Press("single")
	b.Await(`document.activeElement.value === "single strap"`)
	goTo(t, b, "Stretches by")
	b.Press("20%")
	goTo(t, b, "Speed")
	b.Press("8 km/h")
	b.Press(kb.Enter)
	b.Await(`document.querySelector("#answer") !== null`)
	assert.Contains(t, b.Text("#answer"), "kN")
	assert.Empty(t, b.Errors())
}

// TestTraceIsTold: who does not see the trace is told what is on it, and every
// drawing has words in its place.
func TestTraceIsTold(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	page := f.page(t, fmt.Sprintf("/pulls/%d", f.pull.ID))
	assert.Contains(t, page, `aria-describedby="zoom-alt zoom-help"`)
	assert.Contains(t, page, `id="zoom-alt">The line takes load at 0 s, reads most after 500 ms and is slack after 1.0 s.`)
	assert.Regexp(t, `<svg[^>]* class="chain chain-wide"[^>]* role="img" aria-label="Rig single strap from Heron to Otter\. [^"]+"`, page)
	assert.Contains(t, f.page(t, "/days/2026-03-14/trace"), `id="zoom-alt">From 10:00:00 to 10:00:09, with 1 pull.`)
}
