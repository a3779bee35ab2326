package store

import (
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tautlog/calc/calibrate"
)

// The tests share a made-up time: 2026-05-09 08:00 UTC.
const morning = int64(1778313600e9)

const (
	millisecond = int64(1e6)
	second      = int64(1e9)
)

func open(t testing.TB, dir string, o Options) *Store {
	t.Helper()
	s, err := Open(dir, o)
	require.NoError(t, err)
	t.Cleanup(func() { _ = s.Close() }) // closing twice is allowed
	return s
}

// openNew opens a new store that folds early, with one cell.
func openNew(t testing.TB) (*Store, int64) {
	t.Helper()
	s := open(t, t.TempDir(), Options{foldReadings: 1000})
	return s, newCell(t, s)
}

func newCell(t testing.TB, s *Store) int64 {
	t.Helper()
	c, err := s.SaveCell(context.Background(), Cell{Name: "cell " + t.Name(), Curve: calibrate.Curve{Coefficients: []float64{0, 2}}})
	require.NoError(t, err)
	return c.ID
}

func TestOpenMakesADirectoryAndFindsWhatWasStored(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(t.TempDir(), "new", "store with spaces, #1?")
	s := open(t, dir, Options{})
	cell := newCell(t, s)
	run := Run{Cell: cell, Start: morning, Step: 1e6, Raw: noisy(5, 250)}
	require.NoError(t, s.Append(t.Context(), []Run{run}))
	require.NoError(t, s.Close())

	s = open(t, dir, Options{})
	require.Empty(t, s.Damage())
	require.Equal(t, []Run{run}, collect(t, s, cell, 0, 1<<62))
	require.NoError(t, s.Integrity(t.Context()))
	_, err := os.Stat(filepath.Join(dir, databaseName))
	require.NoError(t, err)
}

func TestConnectionsAreDurable(t *testing.T) {
	t.Parallel()
	s, _ := openNew(t)
	for pragma, want := range map[string]string{"journal_mode": "wal", "synchronous": "2", "foreign_keys": "1", "busy_timeout": "5000"} {
		var got string
		require.NoError(t, s.writer.QueryRow("PRAGMA "+pragma).Scan(&got))
		require.Equal(t, want, got, pragma)
	}
	_, err := s.reader.Exec("DELETE FROM cells")
	require.Error(t, err, "the reading connections must not write")
}

func TestReaderBesideADaemon(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	r, err := OpenReader(s.Dir())
	require.NoError(t, err)
	defer func() { require.NoError(t, r.Close()) }()
	run := Run{Cell: cell, Start: morning, Step: 1e6, Raw: noisy(5, 250)}
	require.NoError(t, s.Append(t.Context(), []Run{run}))
	require.Equal(t, []Run{run}, collect(t, r, cell, 0, 1<<62))
	require.ErrorIs(t, r.Append(t.Context(), []Run{run}), ErrReadOnly)
	_, err = r.SaveCell(t.Context(), Cell{Name: "b"})
	require.ErrorIs(t, err, ErrReadOnly)
}

func TestReaderOfAStoreThatNobodyHasOpen(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	run := Run{Cell: cell, Start: morning, Step: 1e6, Raw: noisy(5, 250)}
	require.NoError(t, s.Append(t.Context(), []Run{run}))
	require.NoError(t, s.Close())
	r, err := OpenReader(s.Dir())
	require.NoError(t, err)
	require.Equal(t, []Run{run}, collect(t, r, cell, 0, 1<<62))
	require.NoError(t, r.Integrity(t.Context()))
	require.NoError(t, r.Close())
}

func TestMigrationsAreNumberedWithoutGap(t *testing.T) {
	t.Parallel()
	for i, name := range migrationNames() {
		require.Regexp(t, "^migrations/"+fourDigits(i+1)+`_[a-z_]+\.sql$`, name)
	}
}

func fourDigits(i int) string { return string([]byte{'0', '0', '0' + byte(i/10), '0' + byte(i%10)}) }

// collect reads all runs of a window and lets no error pass.
func collect(t testing.TB, s *Store, cell, from, to int64) (out []Run) {
	t.Helper()
	for r, err := range s.Runs(context.Background(), cell, from, to) {
		require.NoError(t, err)
		out = append(out, kept(r))
	}
	return out
}

// atNine is a clock that stands still.
func atNine() time.Time { return time.Unix(0, morning+3600*second).UTC() }
