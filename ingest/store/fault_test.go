package store

import (
	"database/sql"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// These hold the store to what a person reads when something is wrong with
// the place that was named: one sentence, with the place, and what to do.

func requireSentence(t *testing.T, err, reason error, parts ...string) {
	t.Helper()
	require.ErrorIs(t, err, reason)
	require.NotContains(t, err.Error(), "\n")
	for _, part := range parts {
		require.Contains(t, err.Error(), part)
	}
}

func TestSecondDaemonIsRefused(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	_, err := Open(s.Dir(), Options{})
	requireSentence(t, err, ErrLocked, s.Dir(), "process ", "stop the other daemon")
	require.NoError(t, s.Append(t.Context(), []Run{{Cell: cell, Start: 1, Step: 1, Raw: []int64{1}}}), "the first goes on")
	require.NoError(t, s.Close())
	open(t, s.Dir(), Options{})
}

func TestFileInsteadOfDirectory(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "file")
	require.NoError(t, os.WriteFile(path, []byte("x"), 0o600))
	_, err := Open(path, Options{})
	requireSentence(t, err, ErrNotStore, path, "name a directory")
	_, err = Open(filepath.Join(path, "below"), Options{})
	requireSentence(t, err, ErrReadOnly, path)
}

func TestGarbageIsNotAStore(t *testing.T) {
	t.Parallel()
	for name, content := range map[string][]byte{
		"text":  []byte(strings.Repeat("time,force\n", 1000)),
		"zeros": make([]byte, 8192),
	} {
		dir := t.TempDir()
		path := filepath.Join(dir, databaseName)
		require.NoError(t, os.WriteFile(path, content, 0o600))
		_, err := Open(dir, Options{})
		requireSentence(t, err, ErrNotStore, dir, databaseName)
		_, err = OpenReader(dir)
		requireSentence(t, err, ErrNotStore, dir, databaseName)
		after, err := os.ReadFile(path)
		require.NoError(t, err)
		require.Equal(t, content, after, "%s: a file that is not ours must stay as it is", name)
	}
}

// withDatabase makes a database of other hands.
func withDatabase(t *testing.T, script string) string {
	t.Helper()
	dir := t.TempDir()
	db, err := sql.Open("sqlite", filepath.Join(dir, databaseName))
	require.NoError(t, err)
	_, err = db.Exec(script)
	require.NoError(t, err)
	require.NoError(t, db.Close())
	return dir
}

func TestDatabaseOfAnotherProgram(t *testing.T) {
	t.Parallel()
	dir := withDatabase(t, `CREATE TABLE songs (title TEXT)`)
	_, err := Open(dir, Options{})
	requireSentence(t, err, ErrNotStore, dir, "another program")
}

func TestStoreOfANewerVersion(t *testing.T) {
	t.Parallel()
	s, _ := openNew(t)
	_, err := s.writer.Exec(`PRAGMA user_version = 9999`)
	require.NoError(t, err)
	require.NoError(t, s.Close())
	_, err = Open(s.Dir(), Options{})
	requireSentence(t, err, ErrNewer, s.Dir(), "format 9999")
	_, err = OpenReader(s.Dir())
	requireSentence(t, err, ErrNewer, s.Dir())
}

func TestReaderOfAnOlderVersion(t *testing.T) {
	t.Parallel()
	dir := withDatabase(t, `PRAGMA application_id = 0x54415554; CREATE TABLE cells (id INTEGER)`)
	_, err := OpenReader(dir)
	requireSentence(t, err, ErrOlder, dir, "start the daemon")
}

func TestReaderOfNothing(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	_, err := OpenReader(dir)
	requireSentence(t, err, ErrNoStore, dir)
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Empty(t, left, "a reader must make nothing")
}

func TestDiskFillsUpAndIsFreedAgain(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	limit := func(pages int) {
		_, err := s.writer.Exec(`PRAGMA max_page_count = ` + itoa(pages))
		require.NoError(t, err)
	}
	limit(1) // the least it takes is the present size
	run := Run{Cell: cell, Start: morning, Step: 1e6, Raw: noisy(1e6, 20_000)}
	requireSentence(t, s.Append(t.Context(), []Run{run}), ErrFull, s.Dir())
	require.Empty(t, collect(t, s, cell, 0, math.MaxInt64))
	limit(1 << 20)
	require.NoError(t, s.Append(t.Context(), []Run{run}))
	require.Equal(t, readings([]Run{run}), readings(collect(t, s, cell, 0, math.MaxInt64)))
}

// What is written to a database that was moved or deleted is lost, and the
// system says nothing of it: so it is refused, and taken again when the
// directory is back.
func TestDirectoryThatVanishes(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(t.TempDir(), "store")
	s := open(t, dir, Options{})
	cell := newCell(t, s)
	run := Run{Cell: cell, Start: morning, Step: 1e6, Raw: noisy(5, 250)}
	require.NoError(t, s.Append(t.Context(), []Run{run}))
	next := run
	next.Start = run.At(len(run.Raw))

	require.NoError(t, os.Rename(dir, dir+".moved"))
	requireSentence(t, s.Append(t.Context(), []Run{next}), ErrGone, dir, "put the directory back")
	_, err := s.SaveDay(t.Context(), Day{Date: "2026-05-01", Name: "practice"})
	requireSentence(t, err, ErrGone)
	other := open(t, dir, Options{}) // another one in its place
	requireSentence(t, s.Append(t.Context(), []Run{next}), ErrGone)
	require.NoError(t, other.Close())
	require.NoError(t, os.RemoveAll(dir))
	require.NoError(t, os.Rename(dir+".moved", dir))
	require.NoError(t, s.Append(t.Context(), []Run{next}), "it is back")
	require.Equal(t, readings([]Run{run, next}), readings(collect(t, s, cell, 0, math.MaxInt64)))
	require.NoError(t, s.Integrity(t.Context()))
}
