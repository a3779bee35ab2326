//go:build unix

package archive_test

import (
	"context"
	"log/slog"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/ingest/archive"
	"tautlog/ingest/archive/archivetest"
	"tautlog/ingest/needs"
	"tautlog/ingest/store"
)

// TestCarrier goes from no archive to one, to another, and back to none, while
// it runs; what is asked to be pushed arrives long before its turn.
func TestCarrier(t *testing.T) {
	t.Parallel()
	server := archivetest.Shared(t)
	l := newLaptop(t, server.URL, server.Database(t), "heron")
	l.settings.Station = ""
	c := archive.NewCarrier(t.Context(), l.store, slog.New(slog.DiscardHandler), archive.Told{}, nil)
	ctx, stop := context.WithCancel(t.Context())
	var work sync.WaitGroup
	work.Go(func() { c.Run(ctx) })
	t.Cleanup(func() { stop(); work.Wait() })
	assert.ErrorIs(t, c.PushNow(), archive.ErrNone)
	assert.False(t, c.Told().Given)

	has := func(s archive.Settings, want int) {
		t.Helper()
		require.Eventually(t, func() bool {
			state, err := l.store.ArchiveState(t.Context(), s.Address())
			return err == nil && state.Readings == 0 && !state.Pushed.IsZero() && server.Count(t, s.Bucket, "line_force", "raw") == want
		}, needs.Patience, 10*time.Millisecond)
	}
	l.record(t, store.Run{Cell: l.cell.ID, Start: start, Step: 1e6, Raw: make([]int64, 500)})
	require.NoError(t, c.Change(t.Context(), l.settings))
	has(l.settings, 500)
	other := l.settings
	other.Token, other.Bucket = "", server.Database(t)
	require.NoError(t, c.Change(t.Context(), other), "the token that is kept")
	has(other, 500)
	l.record(t, store.Run{Cell: l.cell.ID, Start: start + 1e9, Step: 1e6, Raw: make([]int64, 500)})
	require.NoError(t, c.PushNow())
	has(other, 1000)

	assert.Empty(t, c.Told().Token)
	assert.ErrorIs(t, c.Change(t.Context(), archive.Settings{URL: "http://127.0.0.1:1", Bucket: "x"}), archive.ErrOtherServer)
	assert.ErrorIs(t, c.Change(t.Context(), archive.Settings{URL: server.URL, Bucket: "x", Token: "two\nlines"}), archive.ErrToken)
	assert.ErrorIs(t, c.Change(t.Context(), archive.Settings{URL: server.URL}), archive.ErrSettings)
	assert.Equal(t, other.Address(), c.Told().Address(), "what was refused changed nothing")
	require.NoError(t, c.Forget(t.Context()))
	assert.False(t, c.Told().Given)
	assert.ErrorIs(t, c.PushNow(), archive.ErrNone)
	for _, name := range []string{archive.SettingsName, archive.TokenName} {
		assert.NoFileExists(t, filepath.Join(l.dir, name))
	}
}

// TestCarrierToldWrongly: settings that cannot work are told, and are no reason
// to fail; those of the command line stay as they are.
func TestCarrierToldWrongly(t *testing.T) {
	t.Parallel()
	l := newLaptop(t, "http://127.0.0.1:1", "club/autogen", "")
	token := filepath.Join(t.TempDir(), "token")
	require.NoError(t, os.WriteFile(token, []byte("k33p\n"), 0o644))
	l.settings.Token, l.settings.TokenFile = "", token
	inFile := archive.NewCarrier(t.Context(), l.store, slog.New(slog.DiscardHandler), archive.Told{Settings: l.settings, Given: true}, nil)
	assert.Contains(t, inFile.Told().Problem, "which is read again by itself")
	assert.NotContains(t, inFile.Told().Problem, "started again")
	c := archive.NewCarrier(t.Context(), l.store, slog.New(slog.DiscardHandler), archive.Told{Settings: l.settings, Given: true, Fixed: true}, nil)
	assert.Contains(t, c.Told().Problem, "chmod 600")
	assert.Contains(t, c.Told().Problem, "everything is recorded")
	assert.Contains(t, c.Told().Problem, "tautlog is started again")
	status, err := archive.StatusOf(t.Context(), l.store, l.settings.Address())
	require.NoError(t, err)
	require.Len(t, status.Archives, 1)
	assert.True(t, status.Archives[0].Told && status.Archives[0].Failing)
	assert.Equal(t, c.Told().Problem, status.Archives[0].LastError, "and so for who asks the store")
	assert.ErrorIs(t, c.PushNow(), archive.ErrNone)
	assert.ErrorIs(t, c.Change(t.Context(), l.settings), archive.ErrFixed)
	assert.ErrorIs(t, c.Forget(t.Context()), archive.ErrFixed)
}
