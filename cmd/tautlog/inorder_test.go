package main

import (
	"bytes"
	"context"
	"errors"
	"runtime"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What is done side by side is used in order, with few pieces waiting; at a
// fault the pieces before it are used and all others are dropped or never begun.
func TestInOrder(t *testing.T) {
	t.Parallel()
	const n = 200
	broken := errors.New("broken")
	for _, bad := range []int{n, 0, 77} {
		var begun, open atomic.Int64
		var used []int
		work := func(_ context.Context, i int) (int, error) {
			begun.Add(1)
			if i == bad {
				return 0, broken
			}
			open.Add(1)
			return i, nil
		}
		use := func(i int) error {
			assert.Less(t, begun.Load()-int64(i), int64(3*sideBySide))
			used = append(used, i)
			open.Add(-1)
			return nil
		}
		err := inOrder(t.Context(), n, work, use, func(int) { open.Add(-1) })
		require.Len(t, used, bad)
		for i, v := range used {
			require.Equal(t, i, v)
		}
		assert.Zero(t, open.Load(), "all that was made was used or dropped")
		if bad < n {
			require.ErrorIs(t, err, broken)
			assert.Less(t, begun.Load(), int64(bad+3*sideBySide))
		} else {
			require.NoError(t, err)
		}
	}
	require.ErrorIs(t, inOrder(t.Context(), n, func(context.Context, int) (int, error) { return 1, nil }, func(int) error { return broken }, func(int) {}), broken)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	require.ErrorIs(t, inOrder(ctx, n, func(ctx context.Context, _ int) (int, error) { return 0, ctx.Err() }, func(int) error { return nil }, func(int) {}), context.Canceled)
}

// Two pieces are worked on at the same time: each waits for the other.
func TestInOrderIsSideBySide(t *testing.T) {
	t.Parallel()
	if runtime.GOMAXPROCS(0) < 2 {
		t.Skip("this wants two processors")
	}
	var both sync.WaitGroup
	both.Add(2)
	meet := func(context.Context, int) (int, error) {
		both.Done()
		both.Wait()
		return 0, nil
	}
	require.NoError(t, inOrder(t.Context(), 2, meet, func(int) error { return nil }, func(int) {}))
}

// A spool gives back what was written, also what went to disk.
func TestSpool(t *testing.T) {
	t.Parallel()
	piece := bytes.Repeat([]byte("0123456789abcdef"), 1<<12)
	for _, n := range []int{0, 3, spoolInMemory/len(piece) + 5} {
		var s spool
		for range n {
			_, err := s.Write(piece)
			require.NoError(t, err)
		}
		assert.Equal(t, n*len(piece) > spoolInMemory, s.file != nil)
		var got bytes.Buffer
		require.NoError(t, s.print(&got))
		require.NoError(t, s.close())
		require.True(t, bytes.Equal(bytes.Repeat(piece, n), got.Bytes()))
	}
}
