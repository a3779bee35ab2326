package tracefile_test

import (
	"errors"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/trace"
	"tautlog/ingest/tracefile"
)

// cycle is the i-th made-up cycle, all of them unlike.
func cycle(i int) trace.Cycle {
	return trace.Cycle{Range: float64(i) + 0.1, Mean: -float64(i) / 3, Count: 0.5 + float64(i%2)/2}
}

func TestCyclesComeBackInOrder(t *testing.T) {
	// What goes to disk goes to a directory that can be looked into.
	dir := t.TempDir()
	t.Setenv("TMPDIR", dir)
	for _, n := range []int{0, 1, 1 << 16, 1<<16 + 1, 300_000} {
		var c tracefile.Cycles
		for i := range n {
			c.Add(cycle(i))
		}
		for range 2 {
			i := 0
			require.NoError(t, c.Each(func(y trace.Cycle) error {
				require.Equal(t, cycle(i), y)
				i++
				return nil
			}))
			require.Equal(t, n, i, "all of them, also a second time")
		}
		stop := errors.New("enough")
		if n > 0 {
			require.ErrorIs(t, c.Each(func(trace.Cycle) error { return stop }), stop)
		}
		require.NoError(t, c.Close())
		left, err := os.ReadDir(dir)
		require.NoError(t, err)
		assert.Empty(t, left, "nothing is left behind")
	}
}

func TestCyclesWithoutRoomSaySo(t *testing.T) {
	t.Setenv("TMPDIR", t.TempDir()+"/nowhere")
	var c tracefile.Cycles
	for i := range 100_000 {
		c.Add(cycle(i))
	}
	err := c.Each(func(trace.Cycle) error { return nil })
	require.ErrorIs(t, err, os.ErrNotExist)
	assert.ErrorContains(t, err, "--gate")
	require.NoError(t, c.Close())
}
