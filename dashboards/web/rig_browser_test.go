package web_test

import (
	"net/http/httptest"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/dashboards/web/webtest"
)

// building is a person with a phone who puts a rig together.
type building struct{ *webtest.Browser }

// press presses a button of the form and waits for the page that it brings.
func (b building) press(do string) {
	webtest.Eval[bool](b.Browser, `(() => { window.before = true; return true; })()`)
	b.Click(`#rigform p button[value="` + do + `"]`)
	b.Await(`!window.before && document.readyState === "complete"`)
}

// put types an item and puts it in where the form says that the chain goes on.
func (b building) put(item string) {
	b.Type("#put-item", item)
	b.press("put")
}

// TestRigFromNothingInBrowser builds, on a phone, a rig with a redirect and a
// bridle with a cell in each leg, from nothing, and looks at it as it grows.
func TestRigFromNothingInBrowser(t *testing.T) {
	needAssets(t)
	browser := webtest.Start(t)
	f := newFixture(t)
	for _, it := range []gear.Item{{ID: "br", Name: "bridle 3 m", Kind: gear.Bridle}, {ID: "bl", Name: "block 8 t", Kind: gear.Block}, {ID: "ts", Name: "tree strap", Kind: gear.TreeStrap}, {ID: "c2", Name: "River-2", Kind: gear.LoadCell}} {
		f.shelve(t, it)
	}
	srv := httptest.NewServer(f.pages)
	defer srv.Close()
	b := building{browser}
	b.Resize(webtest.Phone())
	b.Open(srv.URL + "/rigs")
	b.Click(`a[href="/rigs/new"]`)
	b.Await(`!!document.querySelector("#rigform")`)
	b.Type("#name", "two legs, by the bend")
	b.Type("#pulling", "Heron")
	b.Type("#stuck", "Otter")
	b.Shoot("rig-nothing-phone")
	b.put("p1")
	b.Type("#put-item", "bow shackle\r") // the Enter key puts in as well
	b.Await(`document.querySelectorAll(".found button").length === 2`)
	b.Shoot("rig-which-phone")
	b.Click(".found p:first-child button")
	b.Await(`!document.querySelector(".found") && document.querySelectorAll(".link").length === 2`)
	b.put("blue strap")
	b.Choose("#put-what", "redirect")
	b.Type("#put-item", "block 8 t")
	b.press("put")
	assert.Equal(t, "The angle between the two lines is needed. Write it with its unit, as 90deg.", b.Text("#put-angle-say"))
	b.Shoot("rig-refused-phone")
	b.Type("#put-angle", "120deg")
	b.press("put")
	b.put("tree strap")
	b.Choose("#put-what", "bridle")
	b.Choose("#put-where", "5")
	b.Click("#put summary")
	b.Type("#put-angle", "60deg")
	b.Type("#put-item", "bridle 3 m")
	b.press("put")
	b.put("River-1")
	b.put("bow shackle 13")
	b.Choose("#put-where", "5.right.1")
	b.put("River-2")
	b.put("p2")
	b.Click("#place-5-right-2 summary")
	b.Type("#p5-right-2-h", "30deg")
	b.press("look")
	require.Equal(t, "30deg", webtest.Eval[string](b.Browser, `document.querySelector("#p5-right-2-h").value`))
	assert.NotContains(t, b.Text("#preview"), "It cannot be judged yet")
	b.Type("#who", "A. Keeper")
	b.Shoot("rig-built-phone")
	assert.LessOrEqual(t, webtest.Eval[int64](b.Browser, "document.documentElement.scrollWidth"), webtest.Phone().Width, "sticks out")
	assert.Empty(t, webtest.Eval[[]string](b.Browser, tooSmall), "too small for gloves")
	assert.Empty(t, webtest.Eval[[]string](b.Browser, unlabelled), "without a label")
	b.Resize(webtest.Laptop())
	b.Shoot("rig-built-laptop")
	b.Resize(webtest.Phone())
	b.press("keep")
	b.Await(`document.querySelector("h1").textContent === "two legs, by the bend"`)
	assert.Contains(t, b.Text("#journal"), "A. Keeper: put into the register")
	b.Shoot("rig-kept-phone")
	b.Resize(webtest.Laptop())
	b.Shoot("rig-kept-laptop")

	d, err := f.store.RigByName(t.Context(), "two legs, by the bend")
	require.NoError(t, err)
	assert.Equal(t, []string{"rear point", "bow shackle 12", "blue strap 9 m", "block 8 t", "tree strap", "bridle 3 m", "River-1", "bow shackle 13", "River-2", "front <b>point</b>"}, names(d.Value))
	assert.Len(t, d.Value.Cells(), 2)
	assert.Equal(t, []string{"redirect", "bridle"}, forms(d.Value))
	assert.Empty(t, b.Errors())
	assert.Empty(t, b.Strangers())
}

// forms lists what the links of a rig are that are no items.
func forms(g rig.Rig) (out []string) {
	for _, l := range g.Chain {
		switch {
		case l.Bridle != nil:
			out = append(out, "bridle")
		case l.Redirect != nil:
			out = append(out, "redirect")
		case l.Tackle != nil:
			out = append(out, "tackle")
		}
	}
	return out
}
