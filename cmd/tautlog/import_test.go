//go:build unix

package main

import (
	"bytes"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/ingest/store"
)

// portionReadings is how many readings are stored at a time.
const portionReadings = 1 << 15

const importStart = "2026-05-17T09:30:00Z"

// heldBy is all that a store has of readings, cells, pulls and changes.
func heldBy(t *testing.T, dir string) string {
	t.Helper()
	db, err := store.OpenReader(dir)
	require.NoError(t, err)
	defer db.Close()
	cells, err := db.Cells(t.Context())
	require.NoError(t, err)
	pulls, err := db.Pulls(t.Context(), store.PullFilter{})
	require.NoError(t, err)
	changes, err := db.Changes(t.Context(), store.JournalFilter{})
	require.NoError(t, err)
	var b strings.Builder
	for _, c := range cells {
		first, last, n, err := db.Span(t.Context(), c.ID)
		require.NoError(t, err)
		fmt.Fprintln(&b, c, first, last, n, printed(t, "export", "--data", dir, "--cell", c.Name))
	}
	fmt.Fprintln(&b, pulls, changes)
	return b.String()
}

// A trace of which only the end is wrong leaves the store as it was, although
// its beginning was on the way into it: no reading, no cell, no pull.
func TestImportIsAllOrNothing(t *testing.T) {
	t.Parallel()
	dir, files := filepath.Join(t.TempDir(), "store"), t.TempDir()
	const n = 3 * portionReadings / 2
	var plain bytes.Buffer
	require.NoError(t, writeTrace(&plain, n))
	file := func(name, text string) string {
		path := filepath.Join(files, name)
		require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
		return path
	}
	head, lines, _ := strings.Cut(plain.String(), "\n")
	there := file("there.csv", head+"\n60,1.001\n60.001,2\n")
	printed(t, "import", there, "--data", dir, "--cell", "River-1", "--start", importStart)
	before := heldBy(t, dir)
	const cell = `# tautlog cell {"name":"x","line":{"path":"","baud":0},"wire":{"format":""},"curve":{"coefficients":[0,0.001]},"capacity":"100000N"}` + "\n"
	end := func(line string) string { return plain.String() + fmt.Sprintf("%d.5%s\n", n/1000+1, line) }
	for name, c := range map[string]struct{ text, cell, says string }{
		"a last line that is none":              {end(",slack"), "River-2", fmt.Sprintf("line %d: ", n+2)},
		"a time that goes back":                 {end(",1") + "1,1\n", "River-2", "goes back"},
		"a last count that is none":             {cell + end(",1.0005"), "River-2", fmt.Sprintf("reading %d of ", n+1)},
		"an end in the time of stored readings": {head + "\n" + lines + "60,1\n", "River-1", "stored already"},
	} {
		var stdout, stderr bytes.Buffer
		code := run(t.Context(), []string{"import", file("bad.csv", c.text), "--data", dir, "--cell", c.cell, "--start", importStart}, nil, &stdout, &stderr)
		assert.Equal(t, 1, code, name)
		assert.Empty(t, stdout.String(), name)
		assert.Contains(t, stderr.String(), c.says, name)
		assert.Equal(t, before, heldBy(t, dir), name)
	}
	printed(t, "import", file("good.csv", plain.String()), "--data", dir, "--cell", "River-1", "--start", importStart)
	assert.NotEqual(t, before, heldBy(t, dir))
}

// A named pipe to which nobody writes is refused at once, as a trace and as a
// register, and no store is made; through standard input it is imported.
func TestImportFromNamedPipe(t *testing.T) {
	t.Parallel()
	dir, pipe := filepath.Join(t.TempDir(), "store"), filepath.Join(t.TempDir(), "pipe")
	require.NoError(t, syscall.Mkfifo(pipe, 0o600))
	for _, args := range [][]string{{pipe, "--cell", "River-1", "--start", importStart}, {"--gear", pipe}} {
		var stdout, stderr bytes.Buffer
		assert.Equal(t, 1, run(t.Context(), append([]string{"import", "--data", dir}, args...), nil, &stdout, &stderr))
		assert.Equal(t, "tautlog: "+pipe+" is no regular file and is not read: name a file, or - and send it to standard input, as in: tautlog import - < "+pipe+"\n", stderr.String())
		assert.Empty(t, stdout.String())
	}
	assert.NoDirExists(t, dir)
	wrote := make(chan error, 1)
	go func() { wrote <- os.WriteFile(pipe, []byte("t_s,force_kN\n0,1\n0.001,2\n"), 0) }()
	in, err := os.Open(pipe)
	require.NoError(t, err)
	defer in.Close()
	var stdout, stderr bytes.Buffer
	assert.Zero(t, run(t.Context(), []string{"import", "-", "--data", dir, "--cell", "River-1", "--start", importStart}, in, &stdout, &stderr), stderr.String())
	assert.Contains(t, stdout.String(), "2 readings of cell River-1")
	assert.NoError(t, <-wrote)
}

// Times on no grid, gaps and marks go in and come out as they were, also where
// the readings are cut to be stored.
func TestImportKeepsEveryReading(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(5, 6))
	at := time.Date(2026, 5, 17, 9, 30, 0, 0, time.UTC)
	var csv strings.Builder
	csv.WriteString("time,force_N,raw,mark\n")
	for i := range 2*portionReadings + 1000 {
		step := time.Millisecond
		switch i / 20_000 {
		case 1: // jitter
			step += time.Duration(r.IntN(1000))
		case 2: // a third of a millisecond, as whole nanoseconds
			step = time.Duration((i+1)*1e6/3 - i*1e6/3)
		}
		if i%9000 == 0 {
			step = time.Second
		}
		mark := ""
		if r.IntN(5000) == 0 {
			mark = "overload"
		}
		at = at.Add(step)
		n := r.IntN(1000) - 500
		fmt.Fprintf(&csv, "%s,%d,%d,%s\n", at.Format(time.RFC3339Nano), 2*n, n, mark)
	}
	path, dir := filepath.Join(t.TempDir(), "trace.csv"), filepath.Join(t.TempDir(), "store")
	require.NoError(t, os.WriteFile(path, []byte("# tautlog cell "+`{"name":"x","line":{"path":"","baud":0},"wire":{"format":""},"curve":{"coefficients":[0,2]},"capacity":"0N"}`+"\n"+csv.String()), 0o600))
	printed(t, "import", path, "--data", dir, "--cell", "River-1")
	if got := printed(t, "export", "--data", dir); got != csv.String() {
		a, b := strings.Split(csv.String(), "\n"), strings.Split(got, "\n")
		for i := range min(len(a), len(b)) {
			require.Equal(t, a[i], b[i], "line %d", i+1)
		}
		require.Equal(t, len(a), len(b))
	}
}

// Two million readings are imported in little more memory than a thousand: they
// are read again instead of being held. What a process held counts from before
// it became another program, so this test does not run beside others.
func TestMemoryDoesNotGrowWithTheImport(t *testing.T) {
	if raceDetector {
		t.Skip("the race detector takes memory of its own: go test -run Memory ./cmd/tautlog")
	}
	path, _ := traceFile(t, 2_000_000)
	c := exec.Command("tautlog", "import", path, "--data", filepath.Join(t.TempDir(), "store"), "--cell", "River-1", "--start", importStart)
	c.Stdout = io.Discard
	require.NoError(t, c.Run())
	require.Less(t, peakMiB(c.ProcessState), 100.0)
}
