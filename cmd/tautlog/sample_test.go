//go:build unix

package main

import (
	"io"
	"log/slog"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/ingest/store"
)

// TestSampleDays is what a new user does: starts the program on nothing, has the
// sample days shown, looks at the last one, and puts them away. Nothing is left.
func TestSampleDays(t *testing.T) {
	rooms := t.TempDir()
	t.Setenv("TMPDIR", rooms)
	address, _ := startServe(t, "--data", t.TempDir())
	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	browser := &http.Client{Jar: jar}
	text := func(res *http.Response, err error) string {
		t.Helper()
		require.NoError(t, err)
		defer res.Body.Close()
		b, err := io.ReadAll(res.Body)
		require.NoError(t, err)
		require.Equal(t, http.StatusOK, res.StatusCode, string(b))
		return string(b)
	}
	token := func(page string) url.Values {
		return url.Values{"token": {regexp.MustCompile(`name="token" value="([^"]+)"`).FindStringSubmatch(page)[1]}}
	}
	first := text(browser.Get(address + "/"))
	assert.Contains(t, first, "Show the sample days")
	day := text(browser.PostForm(address+"/sample", token(first)))
	assert.Contains(t, day, "Recruits’ day")
	assert.Contains(t, day, "6 pulls. The highest:")
	assert.Contains(t, day, "are made up")
	assert.Contains(t, text(browser.Get(address+"/multipliers")), "river bar, version 1, in use")
	var log struct{ Pulls []any }
	get(t, address+"/api/pulls", &log)
	assert.Empty(t, log.Pulls, "another browser sees the store")
	there, err := filepath.Glob(filepath.Join(rooms, "tautlog-sample-*"))
	require.NoError(t, err)
	assert.Len(t, there, 1)
	assert.Contains(t, text(browser.PostForm(address+"/sample/away", token(day))), "Show the sample days")
	left, err := os.ReadDir(rooms)
	require.NoError(t, err)
	for _, e := range left {
		assert.NotContains(t, e.Name(), "tautlog-sample")
	}
}

// TestSampleDaysAreBelievable: as the program itself judges what people wrote
// down beside what was measured. Each pull is found once, by day, and nothing
// about it is remarked on.
func TestSampleDaysAreBelievable(t *testing.T) {
	t.Parallel()
	d := sampleDay{log: slog.New(slog.NewTextHandler(io.Discard, nil))}
	db, err := d.Open(t.Context())
	require.NoError(t, err)
	t.Cleanup(d.close)
	logged, err := db.Logged(t.Context(), store.PullFilter{}, time.Local)
	require.NoError(t, err)
	require.Len(t, logged, 36)
	for _, l := range logged {
		assert.Empty(t, l.SpeedApart(), "pull %d", l.Number)
		assert.Empty(t, l.Found.Flags, "pull %d", l.Number)
		assert.Equal(t, pull.Kinetic, l.Kind, "pull %d", l.Number)
	}
}
