package web

import (
	"errors"
	"fmt"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/gear"
	"tautlog/ingest/store"
)

// TestCause: why the store refuses something is told whole, whatever stands in
// it, and without what was being done.
func TestCause(t *testing.T) {
	t.Parallel()
	why := errors.New("two parts: both are told")
	assert.Equal(t, why.Error(), cause(fmt.Errorf("store: save rig: %w", &store.Refusal{Reason: store.ErrLimits, Why: why})))
	assert.Equal(t, store.ErrConflict.Error(), cause(fmt.Errorf("store: undo change 7: %w", store.ErrConflict)))

	db, err := store.Open(filepath.Join(t.TempDir(), "store"), store.Options{})
	require.NoError(t, err)
	defer func() { assert.NoError(t, db.Close()) }()
	d, err := db.SaveItem(t.Context(), store.Document[gear.Item]{Value: gear.Item{ID: "s: 1", Name: "blue strap", Kind: gear.RecoveryStrap}})
	require.NoError(t, err)
	d.Value.Notes = "new"
	_, err = db.SaveItem(t.Context(), d)
	require.NoError(t, err)
	first, err := db.Changes(t.Context(), store.JournalFilter{What: "item", Ref: d.ID})
	require.NoError(t, err)
	_, err = db.Undo(t.Context(), first[len(first)-1].ID)
	require.ErrorIs(t, err, store.ErrConflict)
	assert.Equal(t, "there is a later change of this item; undo that first", cause(err))

	worse := d.Value
	worse.Inspections = []gear.Inspection{{Date: "2026-03-14", Result: gear.InOrder, Photos: []string{"sha256:" + fmt.Sprintf("%064d", 7)}}}
	_, err = db.SaveRegister(t.Context(), store.Register{Items: []gear.Item{worse}}, true)
	require.ErrorIs(t, err, store.ErrInvalid)
	assert.Regexp(t, `^item "s: 1": the inspection of 2026-03-14 refers to the picture sha256:0+7, which is not kept here$`, cause(err))
}
