package web_test

import (
	"fmt"
	"net/http/httptest"
	"testing"

	"github.com/stretchr/testify/assert"

	"tautlog/dashboards/web/webtest"
)

// TestGearInBrowser finds the strap by search, adds an inspection,
// quarantines it, sees the rig complain, and takes that back.
func TestGearInBrowser(t *testing.T) {
	needAssets(t)
	b := webtest.Start(t)
	f := newFixture(t)
	srv := httptest.NewServer(f.pages)
	defer srv.Close()
	b.Resize(webtest.Phone())
	b.Open(srv.URL + "/gear")
	b.Type("#text", "strap\r")
	b.Await(`document.querySelectorAll("a.lead").length === 1`)
	b.Click("a.lead")
	b.Await(`document.querySelector("h1").innerText.replace(/\s+/g, " ") === "blue strap 9 m"`)
	b.Choose("#inspect-result", "watch")
	webtest.Eval[bool](b, `(() => { const d = new DataTransfer(); const c = document.createElement("canvas"); c.width = 40; c.height = 30;
		const raw = atob(c.toDataURL("image/png").split(",")[1]); d.items.add(new File([Uint8Array.from(raw, (x) => x.charCodeAt(0))], "eye.png", { type: "image/png" }));
		document.querySelector("#inspect-photo").files = d.files; return true; })()`)
	b.Type("#inspect-notes", "left eye frayed")
	b.Click("#inspect button")
	b.Await(`document.querySelector(".pictures img")?.alt.includes("14 March 2026")`)
	webtest.Eval[bool](b, `(() => { document.querySelector(".pictures img").loading = "eager"; return true; })()`)
	b.Await(`document.querySelector(".pictures img").naturalWidth === 40`)
	b.Type("#quarantine-reason", "cut at the left eye\r")
	b.Await(`document.querySelector(".alarm")?.textContent.includes("In quarantine since 14 March 2026")`)
	b.Shoot("item-quarantined-phone")
	strap := webtest.Eval[string](b, "location.href")
	rig := srv.URL + fmt.Sprintf("/rigs/%d", f.rig.ID)
	b.Open(rig)
	assert.Contains(t, b.Text("#mismatches"), "cut at the left eye")
	b.Shoot("rig-complains-phone")
	b.Open(strap)
	b.Click("#journal .rows button")
	b.Await(`!document.querySelector(".alarm")`)
	b.Open(rig)
	assert.NotContains(t, b.Text("#mismatches"), "cut at the left eye")
	assert.Empty(t, b.Errors())
	assert.Empty(t, b.Strangers())
}
