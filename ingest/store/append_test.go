package store

import (
	"context"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/trace"
)

func TestRunsThatCannotBeStored(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	good := Run{Cell: cell, Start: morning, Step: 1e6, Raw: []int64{1, 2, 3}}
	for name, c := range map[string]struct {
		change func(*Run)
		want   error
	}{
		"step 0":      {func(r *Run) { r.Step = 0 }, ErrInvalid},
		"step NaN":    {func(r *Run) { r.Step = math.NaN() }, ErrInvalid},
		"step Inf":    {func(r *Run) { r.Step = math.Inf(1) }, ErrInvalid},
		"few marks":   {func(r *Run) { r.Marks = []trace.Mark{0} }, ErrInvalid},
		"end of time": {func(r *Run) { r.Start = math.MaxInt64 - 5 }, ErrInvalid},
		"cell":        {func(r *Run) { r.Cell = 99 }, ErrNotFound},
		"overlap":     {func(r *Run) { r.Start = morning - second + 3 }, ErrOverlap},
	} {
		bad := good
		c.change(&bad)
		first := Run{Cell: cell, Start: morning - second, Step: 2, Raw: []int64{7, 8, 9}}
		require.ErrorIs(t, s.Append(t.Context(), []Run{first, bad}), c.want, name)
		require.Empty(t, collect(t, s, cell, math.MinInt64, math.MaxInt64), "%s: none of them is stored", name)
	}
	require.NoError(t, s.Append(t.Context(), nil))
	require.NoError(t, s.Append(t.Context(), []Run{{Cell: cell, Step: 1}}), "empty runs are left out")
}

func TestCellsDoNotMix(t *testing.T) {
	t.Parallel()
	s, a := openNew(t)
	b, err := s.SaveCell(t.Context(), Cell{Name: "b"})
	require.NoError(t, err)
	runs := []Run{
		{Cell: a, Start: morning, Step: 1e6, Raw: noisy(5, 1200)},
		{Cell: b.ID, Start: morning + 7, Step: 1e6, Raw: noisy(20, 1100)},
	}
	require.NoError(t, s.Append(t.Context(), runs))
	for fold := range 2 {
		require.Equal(t, runs[:1], collect(t, s, a, 0, math.MaxInt64))
		require.Equal(t, runs[1:], collect(t, s, b.ID, 0, math.MaxInt64))
		first, last, n, err := s.Span(t.Context(), b.ID)
		require.NoError(t, err)
		require.Equal(t, []int64{runs[1].Start, runs[1].Last(), 1100}, []int64{first, last, n})
		blocks, err := s.Fold(t.Context(), a)
		require.NoError(t, err)
		require.Equal(t, 1-fold, blocks)
	}
	_, _, n, err := s.Span(t.Context(), 77)
	require.NoError(t, err)
	require.Zero(t, n)
}

func TestLongRunIsCutAndJoinedAgain(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir(), Options{})
	cell := newCell(t, s)
	long := Run{Cell: cell, Start: morning, Step: 1e6 + 1.0/3, Raw: noisy(5, 100_000)}
	require.NoError(t, s.Append(t.Context(), []Run{long}))
	blocks, err := s.Fold(t.Context(), cell)
	require.NoError(t, err)
	require.Equal(t, 3, blocks)
	same(t, readings([]Run{long}), readings(collect(t, s, cell, 0, math.MaxInt64)))
	require.NoError(t, s.Integrity(t.Context()))
}

func TestTailsOfOneGridBecomeOneRun(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	whole := Run{Cell: cell, Start: morning, Step: 1e6, Raw: noisy(5, 1000)}
	for i := range 4 {
		require.NoError(t, s.Append(t.Context(), []Run{whole.slice(i*250, (i+1)*250)}))
	}
	_, err := s.Fold(t.Context(), cell)
	require.NoError(t, err)
	got := collect(t, s, cell, 0, math.MaxInt64)
	require.Len(t, got, 1)
	same(t, readings([]Run{whole}), readings(got))
}

// countUp appends readings 0, 1, 2, … at morning + their number, and folds.
func countUp(ctx context.Context, s *Store, cell int64) error {
	for i := range int64(60) {
		run := Run{Cell: cell, Start: morning + i*100, Step: 1, Raw: make([]int64, 100)}
		for k := range run.Raw {
			run.Raw[k] = i*100 + int64(k)
		}
		if err := s.Append(ctx, []Run{run}); err != nil {
			return err
		}
		if _, err := s.Fold(ctx, cell); err != nil {
			return err
		}
	}
	return nil
}

// TestReadersSeeOneMoment reads while another part of the program appends and
// folds: a reader never sees a reading twice or misses one before the last.
func TestReadersSeeOneMoment(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	done := make(chan error, 1)
	ctx, stop := context.WithCancel(t.Context())
	go func() {
		defer stop()
		done <- countUp(t.Context(), s, cell)
	}()
	seen := 0
	for ctx.Err() == nil {
		n := int64(0)
		for r, err := range s.Runs(t.Context(), cell, 0, math.MaxInt64) {
			require.NoError(t, err)
			for i, v := range r.Raw {
				require.Equal(t, []int64{n, morning + n}, []int64{v, r.At(i)})
				n++
			}
		}
		require.GreaterOrEqual(t, int(n), seen)
		seen = int(n)
		columns, err := s.Outline(t.Context(), cell, morning, morning+6000, 3)
		require.NoError(t, err)
		total := 0
		for _, c := range columns {
			total += c.N
		}
		require.GreaterOrEqual(t, total, seen)
	}
	require.NoError(t, <-done)
}

// Days are brought in while a later one is recorded and folded: a block does not
// reach over the pause between two days, in which another may yet come.
func TestADayMayComeBetweenTwoThatAreFolded(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir(), Options{foldReadings: 100, foldTails: 1000})
	cell, err := s.SaveCell(t.Context(), Cell{Name: "River-1"})
	require.NoError(t, err)
	day := func(n int64) Run {
		return Run{Cell: cell.ID, Start: n * 24 * int64(time.Hour), Step: 1e7, Raw: make([]int64, 60)}
	}
	require.NoError(t, s.Append(t.Context(), []Run{day(1)}))
	require.NoError(t, s.Append(t.Context(), []Run{day(3)}))
	_, err = s.Fold(t.Context(), cell.ID)
	require.NoError(t, err)
	require.NoError(t, s.Append(t.Context(), []Run{day(2)}))
	_, err = s.Fold(t.Context(), cell.ID)
	require.NoError(t, err)
	require.NoError(t, s.Integrity(t.Context()))
	_, _, n, err := s.Span(t.Context(), cell.ID)
	require.NoError(t, err)
	assert.EqualValues(t, 180, n)
}
