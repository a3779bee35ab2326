package web_test

import (
	"fmt"
	"net/http"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/ingest/store"
)

// A pull that was made before anybody set its rig is given one afterwards: it is
// judged by it, its items know of it, and all of that is taken back by a button.
func TestRigOfAPullAfterwards(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	ctx := t.Context()
	one := fmt.Sprintf("/pulls/%d", f.pull.ID)
	now := func() store.Pull {
		p, err := f.store.Pull(ctx, f.pull.ID)
		require.NoError(t, err)
		return p
	}
	p := now()
	p.Rig, p.Settled = nil, true
	_, err := f.store.SavePull(ctx, p)
	require.NoError(t, err)
	rigs, err := f.store.Rigs(ctx)
	require.NoError(t, err)
	chosen := rigs[0]
	strap := f.strapPath(t)
	assert.NotContains(t, f.page(t, strap), one+`"`, "the strap was not in it")

	page := f.page(t, one)
	assert.Contains(t, page, "Say with which rig it was made")
	assert.NotContains(t, page, "The register has no rig yet.")
	version := fmt.Sprint(now().Version)
	assert.Equal(t, http.StatusNotFound, f.post(t, one+"/rig", form("version", version, "rig", "9999")).StatusCode)
	assert.Equal(t, http.StatusBadRequest, f.post(t, one+"/rig", form("version", version, "rig", "blue")).StatusCode)
	require.Equal(t, http.StatusSeeOther, f.post(t, one+"/rig", form("version", version, "rig", fmt.Sprint(chosen.ID))).StatusCode)
	assert.Equal(t, &chosen.Value, now().Rig)
	assert.Equal(t, http.StatusConflict, f.post(t, one+"/rig", form("version", version, "rig", "0")).StatusCode, "somebody else was faster")
	page = f.page(t, one)
	assert.Contains(t, page, "It was another rig")
	assert.Contains(t, page, "over rating")
	says(t, f.said(t, one), "Before the last change: the rig was none.")
	assert.Contains(t, f.page(t, strap), one+`"`, "the strap was in it")

	changes, err := f.store.Journal(ctx, "pull", f.pull.ID, 1)
	require.NoError(t, err)
	require.Equal(t, http.StatusSeeOther, f.post(t, one+"/undo", form("change", fmt.Sprint(changes[0].ID))).StatusCode)
	assert.Nil(t, now().Rig)
}
