package web_test

import (
	"net/http/httptest"
	"testing"

	"github.com/stretchr/testify/assert"

	"tautlog/dashboards/web/webtest"
)

// parted lists the numbers on a page whose unit, as a person sees it, stands on
// another line. A number and its unit may be in elements of their own.
const parted = `(() => {
	const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT, (n) =>
		n.parentElement.closest("svg,script,style,textarea,select,pre") ? NodeFilter.FILTER_REJECT : NodeFilter.FILTER_ACCEPT);
	const all = [];
	let whole = "";
	while (texts.nextNode()) { all.push([whole.length, texts.currentNode]); whole += texts.currentNode.data; }
	const place = (at) => { const [from, node] = all.findLast(([from]) => from <= at); return [node, at - from]; };
	const found = [];
	for (const m of whole.matchAll(/[0-9][ \u00a0](kN|kgf|lbf|N|t|%|×|mm|m|kg|km\/h|ms|s|kJ|min|±)(?![\p{L}0-9])/gu)) {
		const range = document.createRange();
		range.setStart(...place(m.index));
		const [end, at] = place(m.index + m[0].length - 1);
		range.setEnd(end, at + 1);
		const seen = [...range.getClientRects()].filter((r) => r.width > 0 && r.height > 0);
		const top = Math.max(...seen.map((r) => r.top)), bottom = Math.min(...seen.map((r) => r.bottom));
		if (top >= bottom - 1) found.push(whole.slice(Math.max(0, m.index - 20), m.index + m[0].length + 10));
	}
	return found;
})()`

// TestPartedSees holds what looks for broken lines against one.
func TestPartedSees(t *testing.T) {
	needAssets(t)
	b := webtest.Start(t)
	f := newFixture(t)
	srv := httptest.NewServer(f.pages)
	defer srv.Close()
	b.Open(srv.URL + "/guide")
	assert.Empty(t, webtest.Eval[[]string](b, parted))
	narrow := func(markup string) []string {
		return webtest.Eval[[]string](b, `(() => {
			const p = document.createElement("p"); p.style.width = "8ch"; p.innerHTML = "`+markup+`"; document.querySelector("main").append(p);
			const found = `+parted+`; p.remove(); return found;
		})()`)
	}
	assert.Len(t, narrow("aaaa 99 kN"), 1)
	assert.Len(t, narrow("aaaa <b>99</b> kN"), 1)
	assert.Empty(t, narrow("aaaa 99&nbsp;kN"))
}
