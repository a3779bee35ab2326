package web_test

import (
	"fmt"
	"net/http"
	"net/url"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/gear"
)

// TestUnfitIsSaidBeforeThePull: what the register has against an item today is
// said wherever its rig is about to be pulled with: where a pull is planned, in
// a plan that is kept, and on the line.
func TestUnfitIsSaidBeforeThePull(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	asked := form("rig", "single strap", "force", "20kN..35kN")
	const say = "blue strap 9 m is in quarantine since 13 March 2026 until somebody has looked: cut at the left eye."
	res := f.post(t, "/line/setup", url.Values{"cell": {"River-1"}, "version": {"0"}, "rig": {fmt.Sprint(f.rig.ID)}})
	require.Equal(t, http.StatusSeeOther, res.StatusCode)
	places := func() map[string]string {
		_, planned := f.plan(t, "force", asked)
		return map[string]string{"plan": planned, "line": spoken(f.page(t, "/line?cell=River-1"))}
	}
	for where, said := range places() {
		assert.NotContains(t, said, "quarantine", where)
	}
	d := f.strap(t)
	d.Value.Quarantined = &gear.Withdrawal{Date: "2026-03-13", Reason: "cut at the left eye"}
	_, err := f.store.SaveItem(t.Context(), d)
	require.NoError(t, err)
	for where, said := range places() {
		assert.Contains(t, said, say, where)
	}
	res = f.post(t, "/plan/force/keep", url.Values{"name": {"that day"}, "inputs": {asked.Encode()}})
	require.Equal(t, http.StatusSeeOther, res.StatusCode)
	assert.Contains(t, spoken(f.page(t, res.Header.Get("Location"))), say, "the plan that was kept")
}
