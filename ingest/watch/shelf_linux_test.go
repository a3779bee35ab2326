package watch

import (
	"os"
	"path/filepath"
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

	ballast := filepath.Join(dir, "photographs")
	require.NoError(t, fillUp(ballast))
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

// fillUp writes a file until the disk is full, down to the last page.
func fillUp(name string) error {
	f, err := os.Create(name)
	if err != nil {
		return err
	}
	defer f.Close()
	for n := 1 << 16; n >= 1<<12; {
		if _, err := f.Write(make([]byte, n)); err != nil {
			n /= 2
		}
	}
	return nil
}
