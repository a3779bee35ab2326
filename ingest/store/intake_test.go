package store

import (
	"context"
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
)

// What is brought in piece by piece is there when all of it is, and until then
// nobody sees it; after a fault of a later piece nothing of it is.
func TestBringIn(t *testing.T) {
	t.Parallel()
	s, known := openNew(t)
	first := Run{Cell: known, Start: morning, Step: 1e6, Raw: []int64{1, 2, 3}}
	require.NoError(t, s.Append(t.Context(), []Run{first}))
	changes, err := s.Changes(t.Context(), JournalFilter{})
	require.NoError(t, err)
	broken := errors.New("broken")
	bring := func(end func(k *Intake, cell int64) error) (cell int64, err error) {
		return cell, s.BringIn(t.Context(), func(k *Intake) error {
			c, err := k.SaveCell(t.Context(), Cell{Name: "new"})
			require.NoError(t, err)
			cell = c.ID
			require.NoError(t, k.Append(t.Context(), []Run{{Cell: cell, Start: morning, Step: 1e6, Raw: []int64{4, 5}}}))
			require.NoError(t, k.Append(t.Context(), []Run{{Cell: cell, Start: morning + second, Step: 1e6, Raw: []int64{6}}}))
			require.NoError(t, k.SavePulls(t.Context(), []Pull{{Cell: cell, Found: pull.Pull{Start: morning, End: morning + 1e6}}}))
			require.Empty(t, collect(t, s, cell, math.MinInt64, math.MaxInt64))
			return end(k, cell)
		})
	}
	_, err = bring(func(*Intake, int64) error { return broken })
	require.Equal(t, broken, err)
	_, err = bring(func(k *Intake, cell int64) error {
		return k.Append(t.Context(), []Run{{Cell: cell, Start: morning + 1e6, Step: 1e6, Raw: []int64{7}}})
	})
	require.ErrorIs(t, err, ErrOverlap)
	_, err = s.CellByName(t.Context(), "new")
	require.ErrorIs(t, err, ErrNotFound)
	require.Equal(t, []Run{first}, collect(t, s, known, math.MinInt64, math.MaxInt64))
	pulls, err := s.Pulls(t.Context(), PullFilter{})
	require.NoError(t, err)
	require.Empty(t, pulls)
	after, err := s.Changes(t.Context(), JournalFilter{})
	require.NoError(t, err)
	require.Equal(t, changes, after)

	cell, err := bring(func(*Intake, int64) error { return nil })
	require.NoError(t, err)
	require.Len(t, collect(t, s, cell, math.MinInt64, math.MaxInt64), 2)
	pulls, err = s.Pulls(t.Context(), PullFilter{})
	require.NoError(t, err)
	require.Len(t, pulls, 1)

	ctx, cancel := context.WithCancel(t.Context())
	require.ErrorIs(t, s.BringIn(ctx, func(k *Intake) error {
		cancel()
		return k.Append(ctx, []Run{{Cell: cell, Start: morning + 2*second, Step: 1e6, Raw: []int64{8}}})
	}), context.Canceled)
	require.Len(t, collect(t, s, cell, math.MinInt64, math.MaxInt64), 2)
}
