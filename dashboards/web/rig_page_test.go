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
)

// names lists the items of a rig.
func names(g rig.Rig) (out []string) {
	for _, u := range g.Uses() {
		out = append(out, u.Item.Name)
	}
	return out
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
	d, err := f.store.SaveItem(t.Context(), d)
	require.NoError(t, err)
	said := spoken(f.page(t, path))
	assert.Contains(t, said, "cut at the left eye")
	assert.NotContains(t, said, "The register says something else today", "verdicts do not hang on it")
	d.Value.Ratings = []gear.Rating{{Value: 70e3, Basis: gear.MBS}}
	_, err = f.store.SaveItem(t.Context(), d)
	require.NoError(t, err)
	said = spoken(f.page(t, path))
	assert.Contains(t, said, "The register says something else today of blue strap 9 m.")
	res, page := send(t, f, path+"/remove", url.Values{"version": {fmt.Sprint(f.rig.Version)}})
	require.Equal(t, http.StatusSeeOther, res.StatusCode, page)
	assert.Contains(t, f.page(t, "/rigs?show=removed"), "single strap")
}
