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

	"tautlog/calc/calibrate"
	"tautlog/dashboards/bound"
	"tautlog/ingest/needs"
	"tautlog/ingest/port"
	"tautlog/ingest/store"
	"tautlog/ingest/wire"
)

// pageText is a page as it is asked for by a browser of this machine, with plain
// spaces where it keeps a number and its unit on one line.
func pageText(t *testing.T, address string) string {
	t.Helper()
	r, err := http.Get(address)
	require.NoError(t, err)
	defer r.Body.Close()
	b, err := io.ReadAll(r.Body)
	require.NoError(t, err)
	return strings.ReplaceAll(string(b), bound.Space, " ")
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
	data := filepath.Join(disk, "club")
	setUpRamp(t, data)
	address, stop := startServe(t, "--data", data)
	says := func(part string) { t.Helper(); awaitCells(t, address, part) }
	healthy := func() { t.Helper(); awaitHealthy(t, address) }
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

	kept, days := recorded(t, data)
	assert.Equal(t, 1, days)
	require.Greater(t, len(kept), 1000)
	require.Zero(t, kept[0])
	requireWhole(t, kept)
}

// TestADiskThatBecomesReadOnly is what a card does that wears out: what is
// written is refused for a while, and at last the system makes it read-only for
// good. It is told each time, once in the log; what was stored is there when the
// disk was repaired, and recording goes on.
func TestADiskThatBecomesReadOnly(t *testing.T) {
	t.Parallel()
	disk := needs.Card(t, 32<<20)
	data := filepath.Join(disk.Dir, "club")
	setUpRamp(t, data)
	var log talk
	address, end := serveUntilEnd(t, &log, "--data", data)
	awaitHealthy(t, address)
	first, _ := recorded(t, data)

	files := []string{filepath.Join(data, "tautlog.db"), filepath.Join(data, "tautlog.db-wal")}
	disk.Lock(files, true)
	awaitCells(t, address, "The disk takes no readings")
	assert.Regexp(t, `of cell River-1 are in memory only, and there is room for \d+ (s|min|h) more\. `, pageText(t, address+"/cells"))
	assert.Contains(t, startDay(t, address, "practice"), "the disk could not be read or written")
	assert.Contains(t, pageText(t, address+"/gear"), "<h1>Gear</h1>")
	disk.Lock(files, false)
	awaitHealthy(t, address)
	second, days := recorded(t, data)
	assert.Zero(t, days, "what was refused is not there")
	assert.Greater(t, len(second), len(first))
	requireWhole(t, second)
	assert.Equal(t, 1, strings.Count(log.all(), "takes no readings, they are held"), log.all())
	assert.Equal(t, 1, strings.Count(log.all(), "takes readings again"), log.all())

	// Of what is being synced at that very moment, the system may say that it is
	// on the disk and lose it: nothing can be promised of that.
	acknowledged, _ := recorded(t, data)
	disk.Fail()
	awaitCells(t, address, "the system made the disk read-only")
	page := pageText(t, address+"/cells")
	assert.Contains(t, page, "copy the directory to another disk")
	assert.Contains(t, page, "What is held is lost when tautlog ends.")
	assert.Contains(t, startDay(t, address, "practice"), "the system made the disk read-only")
	assert.NotZero(t, end())
	assert.Regexp(t, `\d+ readings that were held in memory are lost, the disk takes no readings`, log.all())

	disk.Repair()
	third, _ := recorded(t, data)
	require.GreaterOrEqual(t, len(third), len(acknowledged), "what was stored is still there")
	requireWhole(t, third)
	address, stop := startServe(t, "--data", data)
	awaitHealthy(t, address)
	assert.Contains(t, startDay(t, address, "practice"), "practice")
	stop()
	last, days := recorded(t, data)
	assert.Equal(t, 1, days)
	assert.Equal(t, third, last[:len(third)])
	assert.Greater(t, len(last), len(third), "it goes on")
}

// setUpRamp sets up cell River-1, whose readings are their own number, from the
// moment on at which somebody first opens its line.
func setUpRamp(t *testing.T, data string) {
	t.Helper()
	in := needs.Sender(t, filepath.Join(t.TempDir(), "cell"), "--rate", "1000", "--per-frame", "10", "--shape", "ramp", "--wait", "120")
	db, err := store.Open(data, store.Options{})
	require.NoError(t, err)
	_, err = db.SaveCell(t.Context(), store.Cell{
		Name: "River-1", Line: port.Line{Path: in.Link}, Rate: 1000,
		Wire: wire.Config{Format: wire.Packed}, Curve: calibrate.Curve{Coefficients: []float64{0, 1}},
	})
	require.NoError(t, err)
	require.NoError(t, db.Close())
}

// awaitCells waits until the page of cells says something.
func awaitCells(t *testing.T, address, part string) {
	t.Helper()
	require.Eventually(t, func() bool { return strings.Contains(pageText(t, address+"/cells"), part) }, needs.Patience, 50*time.Millisecond, part)
}

// awaitHealthy waits until the cell is read and all of it is stored.
func awaitHealthy(t *testing.T, address string) {
	t.Helper()
	require.Eventually(t, func() bool {
		page := pageText(t, address+"/cells")
		return strings.Contains(page, "River-1 is connected and read just now") && !strings.Contains(page, "<dt>Waiting</dt>")
	}, needs.Patience, 50*time.Millisecond)
}

// recorded looks into a store that is in order: what cell River-1 read, and how
// many days there are.
func recorded(t *testing.T, data string) (kept []int64, days int) {
	t.Helper()
	st, err := store.OpenReader(data)
	require.NoError(t, err)
	defer st.Close()
	require.NoError(t, st.Integrity(t.Context()))
	all, err := st.Days(t.Context())
	require.NoError(t, err)
	cell, err := st.CellByName(t.Context(), "River-1")
	require.NoError(t, err)
	for run, err := range st.Runs(t.Context(), cell.ID, 0, math.MaxInt64) {
		require.NoError(t, err)
		kept = append(kept, run.Raw...)
	}
	return kept, len(all)
}

// requireWhole checks that no reading of a ramp is missing.
func requireWhole(t *testing.T, kept []int64) {
	t.Helper()
	for i := range kept[1:] {
		require.Equal(t, kept[i]+1, kept[i+1], "reading %d of %d", i+1, len(kept))
	}
}
