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

// TestMadeUpStaysMadeUp: a store that a demonstration filled says so in a
// report that is written of it afterwards, and a real one is left alone.
func TestMadeUpStaysMadeUp(t *testing.T) {
	t.Parallel()
	ctx, dir := t.Context(), t.TempDir()
	st, err := store.Open(dir, store.Options{})
	require.NoError(t, err)
	require.NoError(t, claim(ctx, st, dir))
	require.NoError(t, claim(ctx, st, dir), "a demonstration may go on in its own store")
	g, err := newRegister(ctx, st, slog.New(slog.NewTextHandler(io.Discard, nil)), rehearse.NewWorld())
	require.NoError(t, err)
	require.NotNil(t, g)
	require.NoError(t, claim(ctx, st, dir))

	require.NoError(t, os.Remove(filepath.Join(dir, madeUpFile)))
	require.ErrorContains(t, claim(ctx, st, dir), "was not made by a demonstration")
	require.NoFileExists(t, filepath.Join(dir, madeUpFile))
	require.NoError(t, st.Close())
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
