package store

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// longLine is 300,000 readings in blocks of the proper size, then a pause of
// an hour, and some more of which a part are tails.
func longLine(t *testing.T) (*Store, int64, []reading) {
	t.Helper()
	s := open(t, t.TempDir(), Options{})
	cell := newCell(t, s)
	runs := []Run{{Cell: cell, Start: morning, Step: 1e6, Raw: noisy(300, 300_000)}}
	runs = append(runs, Run{Cell: cell, Start: runs[0].Last() + 3600*second, Step: 1e6 + 0.25, Raw: noisy(20, 50_000)})
	require.NoError(t, s.Append(t.Context(), runs))
	blocks, err := s.Fold(t.Context(), cell)
	require.NoError(t, err)
	require.Equal(t, 10, blocks)
	return s, cell, readings(runs)
}

func TestOutlineOfALongLineIsExact(t *testing.T) {
	t.Parallel()
	s, cell, all := longLine(t)
	for _, c := range []struct {
		from, length int64
		columns      int
	}{
		{morning, 300 * second, 10},               // coarse level
		{morning - 5*second, 320 * second, 1},     // all of the first part
		{morning + 7, 299*second + 123_456, 100},  // fine level, cut at both ends
		{morning + 33*second, 90 * second, 50},    // fine level, within
		{morning + 12_345, 4 * second, 800},       // readings
		{morning + 150*second, 40_000_000, 1000},  // fewer readings than columns
		{morning, 4000 * second, 800},             // across the pause, with tails
		{morning + 400*second, 1000 * second, 20}, // nothing but silence
		{morning + 2500*second, 1_400 * second, 7},
	} {
		got, err := s.Outline(t.Context(), cell, c.from, c.from+c.length, c.columns)
		require.NoError(t, err)
		checkColumns(t, within(all, c.from, c.from+c.length), got, c.from, c.from+c.length, c.columns)
	}
	for _, c := range []struct{ from, to, columns int64 }{{5, 5, 1}, {6, 5, 1}, {5, 6, 0}} {
		_, err := s.Outline(t.Context(), cell, c.from, c.to, int(c.columns))
		require.ErrorIs(t, err, ErrInvalid)
	}
}

// TestWideOutlineDoesNotReadTheReadings takes the readings away: the outline
// of a wide window is still there, since it is drawn from the levels.
func TestWideOutlineDoesNotReadTheReadings(t *testing.T) {
	t.Parallel()
	s, cell, _ := longLine(t)
	want, err := s.Outline(t.Context(), cell, morning, morning+300*second, 10)
	require.NoError(t, err)
	_, err = s.writer.Exec(`UPDATE blocks SET payload = x'00' WHERE first_ns < ?`, morning+290*second)
	require.NoError(t, err)
	got, err := s.Outline(t.Context(), cell, morning, morning+300*second, 10)
	require.NoError(t, err)
	require.Equal(t, want, got)
	_, err = s.Outline(t.Context(), cell, morning+10*second, morning+11*second, 800)
	require.ErrorIs(t, err, ErrDamaged, "a narrow one tells that they are gone")
}

func TestOutlineOfAllTime(t *testing.T) {
	t.Parallel()
	s, cell, all := longLine(t)
	got, err := s.Outline(t.Context(), cell, math.MinInt64, math.MaxInt64, 1)
	require.NoError(t, err)
	require.Len(t, got, 1)
	require.Equal(t, len(all), got[0].N)
}
