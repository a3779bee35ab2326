package main

import (
	"bytes"
	"encoding/json"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/ingest/store"
)

// logged is a store with four pulls, and how to run "pulls" on it.
func logged(t *testing.T) (dir string, review func(args ...string) reviewedRecord) {
	t.Helper()
	path, _ := traceFile(t, 200_000)
	dir = filepath.Join(t.TempDir(), "store")
	printed(t, "import", path, "--data", dir, "--cell", "River-1", "--start", "2026-05-17T09:30:00Z", "--capacity", "100kN")
	return dir, func(args ...string) (r reviewedRecord) {
		t.Helper()
		require.NoError(t, json.Unmarshal([]byte(printed(t, append(append([]string{"pulls"}, args...), "--data", dir, "--json")...)), &r))
		assert.NotEmpty(t, r.Cautions)
		return r
	}
}

// allTell says that the log, what is found anew and the file of the log have so many pulls.
func allTell(t *testing.T, dir string, n int) {
	t.Helper()
	assert.Len(t, pullsOf(t, "--data", dir).Pulls, n)
	out := filepath.Join(t.TempDir(), "pulls.csv")
	printed(t, "export", "--data", dir, "--pulls", "-o", out)
	db, err := store.OpenReader(dir)
	require.NoError(t, err)
	defer func() { require.NoError(t, db.Close()) }()
	all, err := db.Pulls(t.Context(), store.PullFilter{})
	require.NoError(t, err)
	assert.Len(t, all, n)
	fit, err := db.Logged(t.Context(), store.PullFilter{}, time.UTC)
	require.NoError(t, err)
	assert.Len(t, fit, n, "what is fitted")
	require.NoError(t, db.Integrity(t.Context()))
}

// TestReviewOfPulls joins, parts, adds and sets aside, each first tried, and takes
// it back: what is found anew of the store agrees each time.
func TestReviewOfPulls(t *testing.T) {
	t.Parallel()
	dir, review := logged(t)
	start := func(r reviewedPull) string { return r.Start.Format(time.RFC3339Nano) }

	tried := review("join", "2", "1", "--try")
	allTell(t, dir, 4)
	joined := review("join", "2", "1")
	assert.Equal(t, []any{false, true}, []any{tried.Kept, joined.Kept})
	assert.Equal(t, []int64{1, 2, 1}, []int64{joined.Pulls[0].Pull, joined.Pulls[1].Pull, joined.Pulls[1].Aside.Of})
	assert.Equal(t, tried.Pulls[0], joined.Pulls[0])
	allTell(t, dir, 3)
	assert.Contains(t, printed(t, "pulls", "aside", "--data", dir), "set aside as a part of pull 1 by")
	assert.Len(t, review("undo", "2").Pulls, 2)
	allTell(t, dir, 4)

	db, err := store.OpenReader(dir)
	require.NoError(t, err)
	first, err := db.Pull(t.Context(), 1)
	require.NoError(t, err)
	require.NoError(t, db.Close())
	at := time.Unix(0, first.Found.PeakAt).UTC().Format(time.RFC3339Nano)
	tried = review("part", "1", "--at", at, "--try")
	allTell(t, dir, 4)
	parted := review("part", "1", "--at", at)
	assert.Equal(t, []int64{1, 5}, []int64{parted.Pulls[0].Pull, parted.Pulls[1].Pull})
	assert.Equal(t, tried.Pulls[1].Measured, parted.Pulls[1].Measured)
	assert.Equal(t, at, start(parted.Pulls[1]))
	allTell(t, dir, 5)
	again := review("join", "1", "5")
	assert.InEpsilon(t, first.Found.Impulse, again.Pulls[0].Measured.Impulse, 1e-9, "joined again it is what was found")
	allTell(t, dir, 4)
	review("undo", "1")
	review("undo", "5") // that they were joined is done again
	allTell(t, dir, 4)

	none := review("aside", "4")
	assert.Zero(t, none.Pulls[0].Aside.Of)
	allTell(t, dir, 3)
	var said bytes.Buffer
	assert.Equal(t, 1, run(t.Context(), []string{"report", "--data", dir, "--pull", "4", "-o", filepath.Join(t.TempDir(), "x.html")}, strings.NewReader(""), &said, &said))
	assert.Contains(t, said.String(), "pull 4 was none, it is set aside; count it again first")
	added := review("add", "--cell", "River-1", "--start", start(none.Pulls[0]), "--end", none.Pulls[0].End.Format(time.RFC3339Nano))
	assert.InEpsilon(t, none.Pulls[0].Measured.Peak, added.Pulls[0].Measured.Peak, 1e-9)
	allTell(t, dir, 4)
	refused(t, 1, "would overlap pull "+strconv.FormatInt(added.Pulls[0].Pull, 10), "pulls", "aside", "4", "--back", "--data", dir)
	review("undo", strconv.FormatInt(added.Pulls[0].Pull, 10))
	assert.Nil(t, review("aside", "4", "--back").Pulls[0].Aside)
	allTell(t, dir, 4)
}

// refused runs a command line that fails, and says with what.
func refused(t *testing.T, code int, says string, args ...string) {
	t.Helper()
	var out, said bytes.Buffer
	assert.Equal(t, code, run(t.Context(), args, strings.NewReader(""), &out, &said), args)
	assert.Contains(t, said.String(), says)
	assert.Empty(t, out.String())
}

// TestReviewRefused: each says what is wrong, and nothing changes.
func TestReviewRefused(t *testing.T) {
	t.Parallel()
	dir, _ := logged(t)
	for _, c := range []struct {
		code int
		says string
		args string
	}{
		{2, "wants 2 numbers of pulls", "join 1"}, {2, "is not the number of a pull", "join 1 x"}, {2, "say with --at where to part it", "part 1"},
		{2, "--cell, --start and --end", "add --cell River-1"}, {2, "which pull is to count again", "aside --back"}, {2, "one pull, or none", "aside 1 2"},
		{1, "not with itself", "join 1 1"}, {1, "would overlap pull 2", "join 1 3"}, {1, "not found", "join 1 99"},
		{1, "lies outside the pull", "part 1 --at 2026-05-17T09:40:00Z"}, {1, "is not a moment", "part 1 --at soon"},
		{1, "nothing was recorded at that start", "add --cell River-1 --start 2026-05-17T09:29:00Z --end 2026-05-17T09:30:40Z"},
		{1, "end before it starts", "add --cell River-1 --start 2026-05-17T09:31:00Z --end 2026-05-17T09:30:40Z"},
		{1, "not found", "add --cell River-9 --start 2026-05-17T09:31:00Z --end 3s"}, {1, "nobody has changed anything", "undo 1"}, {1, "not found", "undo 99"},
	} {
		refused(t, c.code, c.says, append(append([]string{"pulls"}, strings.Fields(c.args)...), "--data", dir)...)
	}
	allTell(t, dir, 4)
}
