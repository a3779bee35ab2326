package watch

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/ingest/record"
	"tautlog/ingest/store"
)

// A second cell is set up while the first is recorded, and the first is then
// plugged in elsewhere: the pulls of both are found, and every reading is kept.
func TestCellsAreSetWhileRecording(t *testing.T) {
	t.Parallel()
	const at, length, peak = 5000, 600, 25000
	forces := quiet(9000, 1)
	addPulse(forces, at, length, peak)
	first := startSender(t, forces)
	l := startLive(t, first.Link, nil)
	sub := l.watcher.Subscribe()
	defer sub.Close()
	first.Started()

	second := startSender(t, forces)
	other := packedCell(second.Link)
	other.Name = "River-2"
	other, err := l.store.SaveCell(t.Context(), other)
	require.NoError(t, err)
	require.NoError(t, l.watcher.Set(t.Context(), other))
	second.Started()
	of := func(id int64) func(Found) bool {
		return func(f Found) bool { return f.Pull.Cell == id && !f.Provisional }
	}
	seen := map[int64]float64{}
	for range 2 {
		f := await(t, sub, func(f Found) bool { return !f.Provisional })
		seen[f.Pull.Cell] = float64(f.Pull.Found.Peak)
	}
	require.Contains(t, seen, l.cell.ID)
	assert.InEpsilon(t, peak, seen[l.cell.ID], 0.005)
	assert.InEpsilon(t, peak, seen[other.ID], 0.005)

	first.End()
	third := startSender(t, forces)
	l.cell.Line.Path = third.Link
	moved, err := l.store.SaveCell(t.Context(), l.cell)
	require.NoError(t, err)
	require.NoError(t, l.watcher.Set(t.Context(), moved))
	third.Started()
	f := await(t, sub, of(l.cell.ID))
	assert.InEpsilon(t, peak, float64(f.Pull.Found.Peak), 0.005)
	third.End()
	second.End()
	l.stop()
	assert.ErrorIs(t, l.watcher.Set(t.Context(), moved), record.ErrNotRunning)

	assert.Len(t, readStored(t, l.store, other.ID), len(second.Truth()))
	kept := readStored(t, l.store, l.cell.ID)
	assert.Len(t, kept, len(first.Truth())+len(third.Truth()))
	for i := range kept[1:] {
		require.Greater(t, kept[i+1].t, kept[i].t)
	}
	pulls, err := l.store.Pulls(t.Context(), store.PullFilter{})
	require.NoError(t, err)
	assert.Len(t, pulls, 3)
}
