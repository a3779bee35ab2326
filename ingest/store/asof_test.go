package store

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"tautlog/calc/gear"
)

// TestEachVersionIsKnown: every version of a document and of what people say
// of a pull is what was saved with it, through a removal and its undo.
func TestEachVersionIsKnown(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	ctx := t.Context()
	d := Document[gear.Item]{Value: gear.Item{Name: "strap", Kind: gear.RecoveryStrap}}
	for i := range 5 {
		d.Value.Notes = fmt.Sprint("note ", i)
		saved, err := s.SaveItem(ctx, d)
		require.NoError(t, err)
		d = saved
	}
	require.NoError(t, s.Remove(ctx, "item", d.ID, d.Version))
	changes, err := s.Changes(ctx, JournalFilter{What: "item", Ref: d.ID, Limit: 1})
	require.NoError(t, err)
	_, err = s.Undo(ctx, changes[0].ID)
	require.NoError(t, err)
	for version := int64(1); version <= 7; version++ {
		it, err := s.ItemAt(ctx, d.ID, version)
		if version == 6 {
			require.ErrorIs(t, err, ErrNotFound, "it was removed then")
			continue
		}
		require.NoError(t, err)
		require.Equal(t, fmt.Sprint("note ", min(version-1, 4)), it.Notes)
	}
	for _, never := range []int64{-1, 0, 8} {
		_, err := s.ItemAt(ctx, d.ID, never)
		require.ErrorIs(t, err, ErrNotFound)
	}

	p, err := s.SavePull(ctx, Pull{Cell: cell, Found: foundAt(0, second)})
	require.NoError(t, err)
	for i := range 3 {
		p.Notes = fmt.Sprint("said ", i)
		p, err = s.SavePull(ctx, p)
		require.NoError(t, err)
		_, err = s.SavePull(ctx, Pull{Cell: cell, Found: foundAt(0, second+int64(i))}) // measured again: no version
		require.NoError(t, err)
	}
	for version := int64(2); version <= 4; version++ {
		was, err := s.PullAt(ctx, p.ID, version)
		require.NoError(t, err)
		require.Equal(t, fmt.Sprint("said ", version-2), was.Notes)
	}
	_, err = s.PullAt(ctx, p.ID, 5)
	require.ErrorIs(t, err, ErrNotFound)
}

// TestNewIsNotWrittenOver: what is to be new is refused where its name is taken,
// and a setup where it is not over what is in force.
func TestNewIsNotWrittenOver(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	ctx := t.Context()
	d := Document[gear.Item]{Version: New, Value: gear.Item{Name: "strap", Kind: gear.RecoveryStrap}}
	_, err := s.SaveItem(ctx, d)
	require.NoError(t, err)
	_, err = s.SaveItem(ctx, d)
	require.ErrorIs(t, err, ErrConflict)
	first, err := s.SetSetupOver(ctx, Setup{Cell: cell, Ground: "clay"}, 0)
	require.NoError(t, err)
	_, err = s.SetSetupOver(ctx, Setup{Cell: cell, Ground: "sand"}, 0)
	require.ErrorIs(t, err, ErrConflict)
	_, err = s.SetSetupOver(ctx, Setup{Cell: cell, Ground: "sand"}, first.Since)
	require.NoError(t, err)
}
