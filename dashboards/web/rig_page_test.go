package web_test

import (
	"fmt"
	"html"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/ingest/store"
)

// names lists the items of a rig.
func names(g rig.Rig) (out []string) {
	for _, u := range g.Uses() {
		out = append(out, u.Item.Name)
	}
	return out
}

// TestEditRig changes a rig by pickers and as text, is refused, and undoes it.
func TestEditRig(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	path, before := fmt.Sprintf("/rigs/%d", f.rig.ID), names(f.rig.Value)
	now := func() store.Document[rig.Rig] {
		d, err := f.store.Rig(t.Context(), f.rig.ID)
		require.NoError(t, err)
		return d
	}
	do := func(want int, change url.Values) string {
		t.Helper()
		form := url.Values{"version": {fmt.Sprint(now().Version)}, "rig": {rigTyped(t, f.page(t, path+"/edit"))}}
		for k, v := range change {
			form[k] = v
		}
		res, page := send(t, f, path+"/edit", form)
		require.Equal(t, want, res.StatusCode, page)
		return page
	}
	page := do(422, url.Values{"rig": {`{"name": "x", "chain": [{"item": {"name": "y", "kind": "rope"}}]}`}})
	assert.Contains(t, page, `id="rig-say"`)
	assert.Contains(t, page, "Line 1, column 56 (chain#1.item.kind)")
	assert.Contains(t, do(422, url.Values{"act": {"remove"}}), `id="link-say"`)
	assert.Contains(t, do(422, url.Values{"act": {"end"}, "item": {"shackle"}}), `id="item-say"`)
	assert.Contains(t, do(422, url.Values{"act": {"copy"}, "copy-name": {"single strap"}}), "a rig &#34;single strap&#34; already")
	assert.Equal(t, f.rig.Version, now().Version, "nothing was kept")

	do(303, url.Values{"act": {"down"}, "link": {"2"}})
	assert.Equal(t, []string{before[0], before[2], before[1]}, names(now().Value)[:3])
	do(303, url.Values{"act": {"remove"}, "link": {"2"}})
	do(303, url.Values{"act": {"add"}, "link": {"1"}, "item": {"b9"}})
	do(303, url.Values{"act": {"replace"}, "link": {"2"}, "item": {"bow shackle 13"}})
	assert.Equal(t, []string{"blue strap 9 m", "bow shackle 13", "bow shackle 12"}, names(now().Value)[:3])
	assert.Contains(t, f.page(t, path), "It cannot be judged yet.", "its cell was taken out")
	do(303, url.Values{"act": {"copy"}, "copy-name": {"other strap"}})
	assert.Contains(t, f.page(t, "/rigs?text=other"), "other strap")
	undoLatest(t, f, path, "rig", f.rig.ID)
	assert.Equal(t, "bow shackle 12", names(now().Value)[2])

	stale := url.Values{"version": {fmt.Sprint(f.rig.Version)}}
	page = do(http.StatusConflict, stale)
	assert.Contains(t, page, `id="theirs"`)
	assert.Contains(t, page, `name="rig"`)
}

// rigTyped is the text that the form of a rig has.
func rigTyped(t *testing.T, page string) string {
	t.Helper()
	_, rest, ok := strings.Cut(page, `spellcheck="false">`)
	require.True(t, ok)
	typed, _, _ := strings.Cut(rest, "</textarea>")
	return html.UnescapeString(typed)
}

// TestRigComplains: an item that is quarantined in the register speaks in
// every rig that has a copy of it.
func TestRigComplains(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	path := fmt.Sprintf("/rigs/%d", f.rig.ID)
	assert.NotContains(t, f.page(t, path), "quarantine")
	d := f.strap(t)
	d.Value.Quarantined = &gear.Withdrawal{Reason: "cut at the left eye"}
	_, err := f.store.SaveItem(t.Context(), d)
	require.NoError(t, err)
	said := words(f.page(t, path))
	assert.Contains(t, said, "cut at the left eye")
	assert.Contains(t, said, "The register says something else today of blue strap 9 m.")
	res, page := send(t, f, path+"/remove", url.Values{"version": {fmt.Sprint(f.rig.Version)}})
	require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
	assert.Contains(t, f.page(t, "/rigs?show=removed"), "single strap")
}
