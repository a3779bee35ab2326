package main

import (
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tautlog/ingest/store"
)

// TestSetsAreKeptBesideADaemon: who keeps or chooses a set need not end the
// daemon that records into the store.
func TestSetsAreKeptBesideADaemon(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	require.NoError(t, fillStore(dir))
	daemon, err := store.Open(dir, store.Options{})
	require.NoError(t, err)
	defer daemon.Close()
	for _, args := range [][]string{
		{"keep", "river bar", "--to", "2026-04-20"}, {"assume", "handbook", "--multiplier", "3.2", "--source", "club rule"}, {"use", "handbook"},
	} {
		var stderr strings.Builder
		args = append([]string{"multipliers"}, append(args, "--data", dir)...)
		require.Zero(t, run(t.Context(), args, strings.NewReader(""), io.Discard, &stderr), stderr.String())
	}
	k, err := daemon.PlanningWith(t.Context())
	require.NoError(t, err)
	require.Equal(t, "handbook, version 1", k.Label())
	require.Equal(t, "tautlog multipliers assume", k.Who)
	sets, err := daemon.Sets(t.Context())
	require.NoError(t, err)
	require.Len(t, sets, 2)
}
