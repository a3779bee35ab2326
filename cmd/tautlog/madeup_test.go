package main

import (
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tautlog/ingest/rehearse"
	"tautlog/ingest/store"
)

// invented is a directory with the store that a demonstration begins.
func invented(t *testing.T) (string, *store.Store) {
	t.Helper()
	dir := t.TempDir()
	st, err := store.Open(dir, store.Options{Who: byDemonstration})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, st.Close()) })
	require.NoError(t, claim(t.Context(), st, dir))
	_, err = newRegister(t.Context(), st, slog.New(slog.NewTextHandler(io.Discard, nil)), rehearse.NewWorld())
	require.NoError(t, err)
	return dir, st
}

// TestMadeUpStaysMadeUp: a store that a demonstration filled says so by itself,
// without the file beside it, which older ones do not have and a copy loses;
// whoever goes on with it puts the file back.
func TestMadeUpStaysMadeUp(t *testing.T) {
	t.Parallel()
	dir, st := invented(t)
	mark := filepath.Join(dir, madeUpFile)
	require.FileExists(t, mark)
	require.NoError(t, os.Remove(mark))
	_, err := st.SaveDay(store.WithWho(t.Context(), "a keeper"), store.Day{Date: "2026-05-09", Name: "entered later"})
	require.NoError(t, err)
	known, err := isMadeUp(t.Context(), st, dir)
	require.NoError(t, err)
	require.True(t, known)
	require.NoError(t, claim(t.Context(), st, dir), "a demonstration may go on in its own store")
	require.FileExists(t, mark)
}

// TestARealStoreIsNotMadeUp: whatever was entered by somebody else is left
// alone.
func TestARealStoreIsNotMadeUp(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	st, err := store.Open(dir, store.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, st.Close()) })
	known, err := isMadeUp(t.Context(), st, dir)
	require.NoError(t, err)
	require.False(t, known, "nothing was entered")
	_, err = st.SaveCell(t.Context(), store.Cell{Name: "River-1"})
	require.NoError(t, err)
	require.ErrorContains(t, claim(t.Context(), st, dir), "was not made by a demonstration")
	require.NoFileExists(t, filepath.Join(dir, madeUpFile))
}

// TestReportOfAMadeUpStore writes the report of a store that is marked.
func TestReportOfAMadeUpStore(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	require.NoError(t, fillStore(dir))
	says := func() bool {
		out := filepath.Join(t.TempDir(), "pull.html")
		c := newReport()
		c.SetArgs([]string{"--data", dir, "--pull", "1", "-o", out})
		require.NoError(t, c.ExecuteContext(t.Context()))
		page, err := os.ReadFile(out)
		require.NoError(t, err)
		return strings.Contains(string(page), "Everything in this report is made up.")
	}
	require.False(t, says())
	require.NoError(t, os.WriteFile(filepath.Join(dir, madeUpFile), nil, 0o644))
	require.True(t, says())
}
