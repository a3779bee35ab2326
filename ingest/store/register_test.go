package store

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tautlog/calc/gear"
	"tautlog/calc/rig"
)

func TestARegisterGoesInAsOne(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir(), Options{})
	ctx := t.Context()
	ring := func(id, notes string) gear.Item {
		return gear.Item{ID: id, Name: "ring", Kind: gear.Ring, Notes: notes}
	}
	kept := ring("r1", "")
	_, err := s.SaveItem(ctx, Document[gear.Item]{Value: kept})
	require.NoError(t, err)
	_, err = s.SaveItem(ctx, Document[gear.Item]{Value: ring("r2", "old")})
	require.NoError(t, err)
	before, err := s.Journal(ctx, "", 0, 0)
	require.NoError(t, err)

	reg := Register{Vehicles: []gear.Vehicle{{Name: "Mule"}}, Items: []gear.Item{kept, ring("r2", "new"), ring("r3", "")}, Rigs: []rig.Rig{someRig("long")}}
	want := []Outcome{
		{What: "vehicle", Key: "Mule", Did: DidAdd}, {What: "item", Key: "r1", Did: DidKeep}, {What: "item", Key: "r2", Did: DidChange, Fields: []string{"notes"}, Before: []byte(`{"id":"r2","name":"ring","kind":"ring","notes":"old"}`), After: []byte(`{"id":"r2","name":"ring","kind":"ring","notes":"new"}`)},
		{What: "item", Key: "r3", Did: DidAdd}, {What: "rig", Key: "long", Did: DidAdd},
	}
	tried, err := s.SaveRegister(ctx, reg, true)
	require.NoError(t, err)
	require.Equal(t, want, tried)
	unharmed := func() {
		after, err := s.Journal(ctx, "", 0, 0)
		require.NoError(t, err)
		require.Equal(t, before, after)
		items, err := s.Items(ctx)
		require.NoError(t, err)
		require.Len(t, items, 2)
		require.Equal(t, "old", items[1].Value.Notes)
	}
	unharmed()

	bad := reg
	bad.Rigs = []rig.Rig{someRig("long"), {}}
	_, err = s.SaveRegister(ctx, bad, false)
	require.ErrorIs(t, err, ErrInvalid)
	unharmed()

	done, err := s.SaveRegister(ctx, reg, false)
	require.NoError(t, err)
	require.Equal(t, want, done)
	items, err := s.Items(ctx)
	require.NoError(t, err)
	require.Len(t, items, 3)
	require.Equal(t, "new", items[1].Value.Notes)
}
