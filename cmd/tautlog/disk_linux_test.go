package main

import (
	"io"
	"math"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/ingest/needs"
	"tautlog/ingest/store"
)

// pageText is a page as it is asked for by a browser of this machine.
func pageText(t *testing.T, address string) string {
	t.Helper()
	r, err := http.Get(address)
	require.NoError(t, err)
	defer r.Body.Close()
	b, err := io.ReadAll(r.Body)
	require.NoError(t, err)
	return string(b)
}

// startDay sends the form that starts a test day, and gives the page that
// answers.
func startDay(t *testing.T, address, name string) string {
	t.Helper()
	token := regexp.MustCompile(`name="token" value="([^"]+)"`).FindStringSubmatch(pageText(t, address+"/days"))
	require.NotNil(t, token)
	r, err := http.PostForm(address+"/days", url.Values{"token": {token[1]}, "name": {name}})
	require.NoError(t, err)
	defer r.Body.Close()
	b, err := io.ReadAll(r.Body)
	require.NoError(t, err)
	return string(b)
}

// TestADiskThatFillsAndADirectoryThatVanishes is a day on which everything goes
// wrong with the disk: it fills up while a cell is recorded, and later the whole
// directory is away for a while. Each time the pages say so and what to do, other
// pages go on, nothing typed is taken for kept, and when the disk is well again
// not one reading is missing.
func TestADiskThatFillsAndADirectoryThatVanishes(t *testing.T) {
	t.Parallel()
	disk := needs.Disk(t, "12m")
	data, link := filepath.Join(disk, "club"), filepath.Join(t.TempDir(), "cell")
	// Each reading is its own number.
	needs.Sender(t, link, "--rate", "1000", "--per-frame", "10", "--shape", "ramp", "--wait", "60")
	code, _, remarks := tautlog(t, "cells", "--listen", link, "--for", "1500ms", "--save", "River-1", "--data", data, "--curve", "0,1")
	require.Zero(t, code, remarks)
	address, stop := startServe(t, "--data", data)
	says := func(part string) {
		t.Helper()
		require.Eventually(t, func() bool { return strings.Contains(pageText(t, address+"/cells"), part) }, 60*time.Second, 50*time.Millisecond, part)
	}
	healthy := func() {
		t.Helper()
		require.Eventually(t, func() bool {
			page := pageText(t, address+"/cells")
			return strings.Contains(page, "River-1 is connected and read just now") && !strings.Contains(page, "<dt>Waiting</dt>")
		}, 60*time.Second, 50*time.Millisecond)
	}
	healthy()

	ballast := needs.Fill(t, disk, 16<<10)
	says("The disk takes no readings")
	assert.Regexp(t, `of cell River-1 are in memory only, and there is room for \d+ (s|min|h) more\. Make room on the disk`, pageText(t, address+"/cells"))
	says("readings for the disk")
	assert.Contains(t, startDay(t, address, strings.Repeat("a very long name ", 200)), "the disk is full")
	assert.Contains(t, pageText(t, address+"/gear"), "<h1>Gear</h1>")
	require.NoError(t, os.Remove(ballast))
	healthy()
	assert.Contains(t, startDay(t, address, "practice"), "practice")

	require.NoError(t, os.Rename(data, data+".away"))
	says("the store is no longer where it was opened")
	assert.Contains(t, pageText(t, address+"/cells"), "put the directory back")
	assert.Contains(t, startDay(t, address, "another"), "the store is no longer where it was opened")
	require.NoError(t, os.Rename(data+".away", data))
	healthy()
	stop()

	st, err := store.OpenReader(data)
	require.NoError(t, err)
	defer st.Close()
	require.NoError(t, st.Integrity(t.Context()))
	days, err := st.Days(t.Context())
	require.NoError(t, err)
	assert.Len(t, days, 1)
	cell, err := st.CellByName(t.Context(), "River-1")
	require.NoError(t, err)
	var kept []int64
	for run, err := range st.Runs(t.Context(), cell.ID, 0, math.MaxInt64) {
		require.NoError(t, err)
		kept = append(kept, run.Raw...)
	}
	require.Greater(t, len(kept), 1000)
	for i := range kept[1:] {
		require.Equal(t, kept[i]+1, kept[i+1], "reading %d of %d", i+1, len(kept))
	}
}
