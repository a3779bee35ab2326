package watch

import (
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/ingest/needs"
	"tautlog/ingest/store"
)

func TestAPullThatAFullDiskRefusesIsSavedLater(t *testing.T) {
	t.Parallel()
	dir := needs.Disk(t, "4m")
	b := newBench(t, dir)
	sub := b.watcher.Subscribe()

	ballast := needs.Fill(t, dir, 0)
	forces := quiet(8000, 1)
	addPulse(forces, 3000, 500, 20000)
	b.push(forces)
	for _, provisional := range []bool{true, false} {
		f := <-sub.C
		assert.Equal(t, provisional, f.Provisional)
		assert.Zero(t, f.Pull.ID, "shown, though not saved")
		assert.InEpsilon(t, 20000, float64(f.Pull.Found.Peak), 0.01)
	}
	assert.Equal(t, 1, b.cell.shelf.retry(), "the later result has taken the place of the first")
	<-sub.C

	require.NoError(t, os.Remove(ballast))
	assert.Zero(t, b.cell.shelf.retry())
	f := <-sub.C
	assert.Positive(t, f.Pull.ID)
	pulls, err := b.store.Pulls(t.Context(), store.PullFilter{})
	require.NoError(t, err)
	require.Len(t, pulls, 1)
	assert.True(t, pulls[0].Settled)
}
