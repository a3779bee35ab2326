package web_test

import (
	"bytes"
	"fmt"
	"html"
	"net/http"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/ingest/store"
)

var (
	field   = regexp.MustCompile(`<(?:input|select|textarea) [^>]*>`)
	nameOf  = regexp.MustCompile(` name="([^"]+)"`)
	valueOf = regexp.MustCompile(` value="([^"]*)"`)
)

// rigSheet is what a browser without a script would send of a rig's form.
func rigSheet(t require.TestingT, page string) url.Values {
	return sheetAt(t, page, `id="rigform">`)
}

// sheetAt is the same of the form of a page that begins there.
func sheetAt(t require.TestingT, page, begins string) url.Values {
	_, form, ok := strings.Cut(page, begins)
	require.True(t, ok, page)
	form, _, _ = strings.Cut(form, "</form>")
	out := url.Values{}
	for _, at := range field.FindAllStringIndex(form, -1) {
		tag, rest := form[at[0]:at[1]], form[at[1]:]
		v := ""
		switch tag[1] {
		case 'i':
			if m := valueOf.FindStringSubmatch(tag); m != nil {
				v = m[1]
			}
		case 't':
			v, _, _ = strings.Cut(rest, "</textarea>")
		case 's':
			options, _, _ := strings.Cut(rest, "</select>")
			if m := valueOf.FindStringSubmatch(options); m != nil {
				v = m[1]
			}
			if before, _, ok := strings.Cut(options, `" selected`); ok {
				v = before[strings.LastIndexByte(before, '"')+1:]
			}
		}
		out.Set(nameOf.FindStringSubmatch(tag)[1], html.UnescapeString(v))
	}
	return out
}

// builder puts a rig together as a person does: it fills in the form that it
// sees and presses a button.
type builder struct {
	t    require.TestingT
	f    *fixture
	path string
	page string
}

func (f *fixture) building(t require.TestingT, path string) *builder {
	b := &builder{t: t, f: f, path: path}
	res := f.ask("GET", path, nil, nil)
	require.Equal(t, http.StatusOK, res.StatusCode)
	b.page = bodyOf(t, res)
	b.path, _, _ = strings.Cut(path, "?")
	return b
}

func bodyOf(t require.TestingT, res *http.Response) string {
	var b bytes.Buffer
	_, err := b.ReadFrom(res.Body)
	require.NoError(t, err)
	return b.String()
}

// press sends the form with these fields written and a button pressed.
func (b *builder) press(want int, do string, change map[string]string) *http.Response {
	form := rigSheet(b.t, b.page)
	form.Set("do", do)
	for name, v := range change {
		form.Set(name, v)
	}
	res := b.f.ask("POST", b.path, form, nil)
	page := bodyOf(b.t, res)
	if res.StatusCode != want {
		require.Equal(b.t, want, res.StatusCode, "%s %v: %s", do, change, spoken(page))
	}
	if res.StatusCode != http.StatusSeeOther {
		b.page = page
	}
	return res
}

// put puts an item in where the form says that the chain goes on.
func (b *builder) put(item string) { b.press(200, "put", map[string]string{"put-item": item}) }

// keep keeps the rig, and gives it as it is then in the store.
func (b *builder) keep() store.Document[rig.Rig] {
	at := b.press(http.StatusSeeOther, "keep", nil).Header.Get("Location")
	id, err := strconv.ParseInt(at[strings.LastIndexByte(at, '/')+1:], 10, 64)
	require.NoError(b.t, err)
	d, err := b.f.store.Rig(ctxOf(b.t), id)
	require.NoError(b.t, err)
	return d
}

// shelve puts items into the register.
func (f *fixture) shelve(t *testing.T, items ...gear.Item) {
	t.Helper()
	for _, it := range items {
		_, err := f.store.SaveItem(t.Context(), store.Document[gear.Item]{Value: it})
		require.NoError(t, err)
	}
}

// TestRigFromNothing puts a kinetic rig with a redirect, a bridle and two
// cells together, one thing after the other, and keeps it.
func TestRigFromNothing(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	gvm := unit.Mass(3100)
	_, err := f.store.SaveVehicle(t.Context(), store.Document[gear.Vehicle]{Value: gear.Vehicle{Name: "Mole", GVM: &gvm}})
	require.NoError(t, err)
	f.shelve(t, gear.Item{ID: "br", Name: "bridle 3 m", Kind: gear.Bridle}, gear.Item{ID: "bl", Name: "block 8 t", Kind: gear.Block}, gear.Item{ID: "ts", Name: "tree strap", Kind: gear.TreeStrap}, gear.Item{ID: "c2", Name: "River-2", Kind: gear.LoadCell})

	b := f.building(t, "/rigs/new")
	assert.NotContains(t, b.page, "cannot be judged", "nobody has begun")
	b.press(200, "put", map[string]string{"name": "two legs", "pulling": "Mole", "stuck": "old oak", "put-item": "p1"})
	b.press(422, "put", map[string]string{"put-item": "bow shackle"})
	assert.Contains(t, b.page, "Several items have &#34;bow shackle&#34;. Choose one below.")
	pick := regexp.MustCompile(`value="(pick:\d+)">bow shackle 12`).FindStringSubmatch(b.page)
	require.NotNil(t, pick)
	b.press(200, pick[1], nil)
	b.put("blue strap 9 m")
	b.press(422, "put", map[string]string{"put-what": "redirect", "put-item": "block"})
	assert.Contains(t, b.page, `id="put-angle-say"`)
	b.press(200, "put", map[string]string{"put-what": "redirect", "put-item": "block", "put-angle": "120deg"})
	b.press(422, "put", map[string]string{"put-item": "the old stump"})
	assert.Contains(t, b.page, "not in the register")
	b.press(200, "put", map[string]string{"put-item": "the old stump", "put-kind": "ground anchor"})
	b.press(200, "put", map[string]string{"put-what": "bridle", "put-where": "5", "put-item": "br", "put-angle": "60deg"})
	assert.Contains(t, spoken(b.page), "There is no load cell in the chain")
	b.put("River-1")
	b.put("p2")
	b.press(200, "put", map[string]string{"put-where": "5.right.1", "put-item": "River-2"})
	b.press(422, "look", map[string]string{"p5-included": "200deg", "p5-h": "ten"})
	assert.Contains(t, b.page, `value="200deg"`)
	assert.Contains(t, b.page, `id="p5-h-say"`)
	b.press(422, "look", map[string]string{"p5-included": "200deg", "p5-h": "10deg"})
	assert.Contains(t, b.page, `id="p5-included-say"`)
	b.press(200, "look", map[string]string{"p5-included": "62deg", "p2-seat": "bound", "p1-h": "0deg", "p4-loss": "10%"})
	b.press(200, "down:4.block.1", nil)
	b.press(200, "up:4.block.2", nil)
	b.press(200, "up:1", nil)
	assert.Contains(t, b.page, "It is at that end already.")
	assert.NotContains(t, b.page, "It cannot be judged yet")
	assert.Contains(t, b.page, "<svg", "it is drawn")
	assert.Contains(t, spoken(b.page), "What does not fit, before the pull")
	b.press(422, "keep", map[string]string{"put-item": "forgotten"})
	assert.Contains(t, b.page, "This item is not in the chain yet")
	b.press(422, "keep", map[string]string{"put-item": "", "name": "single strap"})
	assert.Contains(t, b.page, "a rig &#34;single strap&#34; already")
	b.press(200, "look", map[string]string{"name": "two legs"})
	g := b.keep().Value

	assert.Equal(t, []string{"rear point", "bow shackle 12", "blue strap 9 m", "block 8 t", "the old stump", "bridle 3 m", "River-1", "front <b>point</b>", "River-2"}, names(g))
	assert.Equal(t, &gvm, g.Pulling.GVM, "the vehicle is that of the register")
	assert.Equal(t, gear.Vehicle{Name: "old oak"}, g.Stuck)
	assert.Equal(t, unit.Degrees(62), g.Chain[4].Bridle.Included)
	assert.Equal(t, rig.BoundSeat, g.Chain[1].Seat)
	assert.InDelta(t, 0.1, *g.Chain[3].Redirect.Loss, 1e-12)
	assert.Equal(t, []gear.Item{g.Chain[4].Bridle.Left[0].Item, g.Chain[4].Bridle.Right[0].Item}, g.Cells())
}

// TestEditRig changes a rig step by step, in its form and as text, is refused,
// and undoes it.
func TestEditRig(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	path, before := fmt.Sprintf("/rigs/%d", f.rig.ID), names(f.rig.Value)
	now := func() store.Document[rig.Rig] {
		d, err := f.store.Rig(t.Context(), f.rig.ID)
		require.NoError(t, err)
		return d
	}
	b := f.building(t, path+"/edit")
	b.press(200, "down:2", nil)
	b.press(200, "out:2", nil)
	b.press(422, "look", map[string]string{"p2-item": "shackle"})
	assert.Contains(t, b.page, "Several items have &#34;shackle&#34;: bow shackle 12 (s12), bow shackle 13 (s13).")
	b.press(200, "look", map[string]string{"p2-item": "bow shackle 13"})
	assert.Equal(t, f.rig.Version, now().Version, "a step keeps nothing")
	assert.Equal(t, []string{before[0], "bow shackle 13", before[3]}, names(b.keep().Value)[:3])
	assert.Contains(t, f.page(t, path), "It cannot be judged yet.", "its cell was taken out")

	c := f.building(t, "/rigs/new?from="+fmt.Sprint(f.rig.ID))
	c.press(422, "keep", nil)
	assert.Contains(t, c.page, "The rig needs a name.")
	c.press(200, "look", map[string]string{"name": "other strap"})
	assert.Equal(t, names(now().Value), names(c.keep().Value))
	undoLatest(t, f, path, "rig", f.rig.ID)
	assert.Equal(t, before, names(now().Value))
}

// TestRigAsText edits the text of a rig, is refused with the place, and goes
// from the form to the text and back with all that was typed.
func TestRigAsText(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	path := fmt.Sprintf("/rigs/%d", f.rig.ID)
	res, page := send(t, f, path+"/text", url.Values{"version": {"1"}, "do": {"keep"}, "rig": {`{"name": "x", "chain": [{"item": {"name": "y", "kind": "rope"}}]}`}})
	require.Equal(t, 422, res.StatusCode)
	assert.Contains(t, page, `id="rig-say"`)
	assert.Contains(t, page, "Line 1, column 56 (chain#1.item.kind)")

	b := f.building(t, path+"/edit")
	b.press(200, "text", map[string]string{"p1-h": "12deg", "notes": "by hand <b>"})
	typed := rigTyped(t, b.page)
	require.Contains(t, typed, `"horizontal": "12deg"`)
	res, page = send(t, f, path+"/text", url.Values{"version": {"1"}, "do": {"form"}, "rig": {strings.Replace(typed, `"horizontal": "12deg"`, `"horizontal": "13deg"`, 1)}})
	require.Equal(t, 200, res.StatusCode)
	b.page = page
	g := b.keep().Value
	assert.InDelta(t, 13, g.Chain[0].OffAxis.Horizontal.Degrees(), 1e-9)
	assert.Equal(t, "by hand <b>", g.Notes)
	res, page = send(t, f, "/rigs/new/text", url.Values{"do": {"keep"}, "rig": {rigTyped(t, f.page(t, path+"/text"))}})
	require.Equal(t, 422, res.StatusCode)
	assert.Contains(t, page, "a rig &#34;single strap&#34; already")
}

// TestTwoEditOneRig: whoever keeps a rig second, in the form or as text, is
// shown both versions, however many steps it took, and nothing is lost.
func TestTwoEditOneRig(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	path := fmt.Sprintf("/rigs/%d", f.rig.ID)
	mine, theirs, typed := f.building(t, path+"/edit"), f.building(t, path+"/edit"), rigTyped(t, f.page(t, path+"/text"))
	theirs.press(200, "look", map[string]string{"notes": "theirs", "p1-h": "5deg"})
	kept := theirs.keep()

	mine.press(200, "look", map[string]string{"notes": "mine"}) // a step in between must not take over their version
	mine.press(200, "out:5", nil)
	mine.press(http.StatusConflict, "keep", nil)
	said := spoken(mine.page)
	for _, say := range []string{"Notes It was nothing , it is now theirs , you have mine . Yours stands", "Link 1: to the side It was 0deg , it is now 5deg , you have 0deg . Yours stands"} {
		assert.Contains(t, said, say)
	}
	now, err := f.store.Rig(t.Context(), f.rig.ID)
	require.NoError(t, err)
	assert.Equal(t, kept, now)

	res, page := send(t, f, path+"/text", url.Values{"version": {"1"}, "do": {"keep"}, "rig": {typed}})
	require.Equal(t, http.StatusConflict, res.StatusCode)
	assert.Contains(t, spoken(page), "Notes It was nothing , it is now theirs , you have nothing . Theirs stands")
	assert.Contains(t, page, `name="rig"`)

	assert.Equal(t, "mine", mine.keep().Value.Notes, "sent again it stands, over what was shown")
	changes, err := f.store.Changes(t.Context(), store.JournalFilter{What: "rig", Ref: f.rig.ID})
	require.NoError(t, err)
	assert.Contains(t, string(changes[0].Before), "theirs", "and what it replaced is in the journal")
}
