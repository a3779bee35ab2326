package web_test

import (
	"net/http/httptest"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/dashboards/web/webtest"
)

// axeSource is axe-core, which looks a page over by the Web Content
// Accessibility Guidelines.
func axeSource(t *testing.T) string {
	t.Helper()
	b, err := os.ReadFile("assets/node_modules/axe-core/axe.min.js")
	require.NoError(t, err, "go generate ./dashboards/web installs it")
	return string(b)
}

// barriers lists what axe-core finds on the page that is shown: the rule, and
// the first element that breaks it.
func barriers(b *webtest.Browser, source string) []string {
	webtest.Eval[bool](b, source+"; true")
	webtest.Eval[bool](b, `(() => { window.axed = undefined; axe.run(document, { resultTypes: ["violations"] }).then(
		(r) => { window.axed = r.violations.map((v) => v.id + ": " + v.nodes[0].html.slice(0, 160) + " " + v.nodes[0].failureSummary); },
		(e) => { window.axed = ["axe failed: " + e]; }); return true; })()`)
	b.Await(`window.axed !== undefined`)
	return webtest.Eval[[]string](b, "window.axed")
}

// lookedAt checks what every page is held to as it is shown in a size: no
// barriers, nothing too small to press, nothing without a label, nothing that
// sticks out. Then it is drawn, if pictures are wanted, as shot-size.
func lookedAt(t *testing.T, b *webtest.Browser, axe, shot string, size webtest.Size) {
	t.Helper()
	assert.Empty(t, barriers(b, axe), shot)
	assert.Empty(t, webtest.Eval[[]string](b, tooSmall), shot)
	assert.Empty(t, webtest.Eval[[]string](b, unlabelled), shot)
	assert.LessOrEqual(t, webtest.Eval[int64](b, "document.documentElement.scrollWidth"), size.Width, shot)
	b.Shoot(shot + "-" + size.Name)
}

// TestAxeFinds plants barriers on a page: a check that finds none of them
// would find none anywhere.
func TestAxeFinds(t *testing.T) {
	needAssets(t)
	b := webtest.Start(t)
	f := newFixture(t)
	srv := httptest.NewServer(f.pages)
	defer srv.Close()
	b.Open(srv.URL)
	webtest.Eval[bool](b, `(() => { document.querySelector("main").append(
		Object.assign(document.createElement("img"), { src: "data:," }), Object.assign(document.createElement("input"), { type: "text" }));
		const p = document.createElement("p"); p.textContent = "hardly to be read"; p.style.color = "#e8e3d8"; document.querySelector("main").append(p); return true; })()`)
	found := strings.Join(barriers(b, axeSource(t)), "\n")
	for _, rule := range []string{"image-alt", "label", "color-contrast"} {
		assert.Contains(t, found, rule+": ")
	}
}
