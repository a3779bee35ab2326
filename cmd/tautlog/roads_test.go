//go:build unix

package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/analysis/survey"
	"tautlog/analysis/trace"
	"tautlog/calc/calibrate"
	"tautlog/ingest/archive/archivetest"
	"tautlog/ingest/derive"
	"tautlog/ingest/store"
)

// journey is a trace over midnight with all in it that a day brings: a zero that
// drifts, a standing tension, pulls with rebounds, a long one, saturation, spikes,
// void and lost readings, short and long gaps. A reading is a newton.
func journey(r *rand.Rand) (runs []store.Run) {
	const rate, seconds = 250, 240
	start := time.Date(2026, 5, 17, 23, 58, 20, 0, time.UTC).UnixNano() + r.Int64N(1e9)
	saturates := 20e3 + 20e3*r.Float64()
	standing := 3e3 + 5e3*r.Float64()
	var bumps []func(s float64) float64
	for at := 12.0; at < seconds-20; at += 14 + 12*r.Float64() {
		bumps = append(bumps, bump(r, at))
	}
	gaps := map[int]int{rate * (20 + r.IntN(80)): rate / 2, rate * (150 + r.IntN(60)): rate * 40, r.IntN(rate * seconds): 1}
	run := store.Run{Start: start, Step: 1e9 / rate}
	for i := 0; i < rate*seconds; i++ {
		if lost, is := gaps[i]; is && i > 0 {
			runs = append(runs, run)
			i += lost
			run = store.Run{Start: start + int64(i)*(1e9/rate), Step: 1e9 / rate}
		}
		s := float64(i) / rate
		f := 100 + s + 15*r.NormFloat64()
		if s > 90 && s < 140 {
			f += standing * min(1, (s-90)/3, (140-s)/3)
		}
		for _, b := range bumps {
			f += b(s)
		}
		var m trace.Mark
		switch x := r.Float64(); {
		case f > saturates:
			f, m = saturates, trace.Overload*trace.Mark(r.IntN(2))
		case x < 0.0005:
			f += 15e3
		case x < 0.001:
			m = trace.Invalid
		case x < 0.0012:
			m = trace.Lost
		}
		run.Raw, run.Marks = append(run.Raw, int64(math.Round(f))), append(run.Marks, m)
	}
	return append(runs, run)
}

// bump is a pull of some shape that begins at second at.
func bump(r *rand.Rand, at float64) func(float64) float64 {
	height, length := 4e3+40e3*r.Float64(), 0.3+r.Float64()
	if r.IntN(3) == 0 { // a long one
		return func(s float64) float64 { return 0.4 * height * max(0, min(1, (s-at)/2, (at+9-s)/0.6)) }
	}
	return func(s float64) float64 {
		if x := (s - at) / length; x > 0 && x < 6 {
			return max(0, height*math.Sin(math.Pi*x)*math.Exp(-0.5*x))
		}
		return 0
	}
}

// asCSV writes runs as a logger would.
func asCSV(runs []store.Run) string {
	var b strings.Builder
	b.WriteString("time,force_N,mark\n")
	words := map[trace.Mark]string{trace.Overload: "overload", trace.Invalid: "invalid", trace.Lost: "lost"}
	for _, run := range runs {
		for i, v := range run.Raw {
			fmt.Fprintf(&b, "%s,%d,%s\n", time.Unix(0, run.At(i)).UTC().Format(time.RFC3339Nano), v, words[run.Marks[i]])
		}
	}
	return b.String()
}

// keep stores runs cut anywhere, a reading at a time here and there, with some
// of them folded into blocks and some not.
func keep(t *testing.T, r *rand.Rand, dir string, runs []store.Run) {
	t.Helper()
	db, err := store.Open(dir, store.Options{})
	require.NoError(t, err)
	defer func() { require.NoError(t, db.Close()) }()
	cell, err := db.SaveCell(t.Context(), store.Cell{Name: "River-1", Curve: calibrate.Curve{Coefficients: []float64{0, 1}}, Capacity: 100e3})
	require.NoError(t, err)
	for _, run := range runs {
		for i := 0; i < len(run.Raw); {
			n := min(len(run.Raw)-i, []int{1, 2, 63, 250, 1000, 40_000}[r.IntN(6)])
			part := store.Run{Cell: cell.ID, Start: run.At(i), Step: run.Step, Raw: run.Raw[i : i+n], Marks: run.Marks[i : i+n]}
			require.NoError(t, db.Append(t.Context(), []store.Run{part}))
			i += n
			if r.IntN(20) == 0 {
				_, err := db.Fold(t.Context(), cell.ID)
				require.NoError(t, err)
			}
		}
	}
}

// asLive gives the pulls of a cell as a daemon finds them: from readings as they
// come, a few at a time or one, looking at the pull going on now and then.
func asLive(t *testing.T, r *rand.Rand, dir string) []any {
	t.Helper()
	db, err := store.OpenReader(dir)
	require.NoError(t, err)
	defer db.Close()
	cells, err := db.Cells(t.Context())
	require.NoError(t, err)
	cell, err := derive.Of(t.Context(), db, cells[0])
	require.NoError(t, err)
	f := pull.NewFinder(cell.Config())
	found := &survey.Found{}
	for run, err := range db.Runs(t.Context(), cell.ID, math.MinInt64, math.MaxInt64) {
		require.NoError(t, err)
		b := cell.Batch(trace.Batch{}, run)
		if found.First == 0 {
			found.First = b.T[0]
		}
		for i := 0; i < b.Len(); {
			n := min(b.Len()-i, []int{1, 1, 1, 2, 7, 62, 63}[r.IntN(7)])
			found.Pulls = append(found.Pulls, f.Push(b.Slice(i, i+n))...)
			if i += n; r.IntN(50) == 0 {
				f.Current()
			}
		}
	}
	found.Pulls = append(found.Pulls, f.Close()...)
	text, err := json.Marshal(pullsDocument(found))
	require.NoError(t, err)
	return bare(t, string(text))["pulls"].([]any)
}

// bare reads a document of pulls without what only a store knows of a cell:
// that no calibration is kept.
func bare(t *testing.T, document string) (d map[string]any) {
	t.Helper()
	require.NoError(t, json.Unmarshal([]byte(document), &d))
	for _, p := range d["pulls"].([]any) {
		p := p.(map[string]any)
		p["flags"] = slices.DeleteFunc(p["flags"].([]any), func(f any) bool { return f == pull.FlagNoCalibration })
		p["remarks"] = slices.DeleteFunc(p["remarks"].([]any), func(s any) bool { return strings.HasPrefix(s.(string), "No calibration") })
		for _, term := range p["uncertainty"].([]any) {
			delete(term.(map[string]any), "note")
		}
	}
	return d
}

// TestOneTraceByEveryRoad: a trace gives the same answer, to the last bit,
// whether it is read from CSV, from a store that it came into in pieces, from an
// archive that the store was pushed to, or live.
func TestOneTraceByEveryRoad(t *testing.T) {
	t.Parallel()
	server := archivetest.Start(t, archivetest.Options{})
	seen := map[any]bool{}
	for seed := range uint64(4) {
		t.Run(fmt.Sprint("seed ", seed), func(t *testing.T) {
			r := rand.New(rand.NewPCG(seed, 17))
			runs := journey(r)
			root := t.TempDir()
			dir, csv, settings := filepath.Join(root, "store"), filepath.Join(root, "trace.csv"), filepath.Join(root, "archive.json")
			require.NoError(t, os.WriteFile(csv, []byte(asCSV(runs)), 0o600))
			keep(t, r, dir, runs)
			require.NoError(t, os.WriteFile(filepath.Join(root, "token"), []byte(archivetest.Token), 0o600))
			require.NoError(t, os.WriteFile(settings, fmt.Appendf(nil, `{"url": %q, "bucket": %q, "token_file": "token"}`, server.URL, server.Database(t)), 0o600))
			printed(t, "archive", "push", "--data", dir, "--archive", settings)

			asked := []string{"pulls", "--json", "--cycles", "--histogram", "2kN"}
			stored := printed(t, append(asked, "--data", dir)...)
			archived := printed(t, append(asked, "--archive", settings, "--cell", "River-1")...)
			assert.Equal(t, stored, archived, "archive")

			want := bare(t, stored)
			require.GreaterOrEqual(t, len(want["pulls"].([]any)), 5)
			require.NotEmpty(t, want["spikes"])
			for _, p := range want["pulls"].([]any) {
				for _, flag := range p.(map[string]any)["flags"].([]any) {
					seen[flag] = true
				}
			}
			assert.Equal(t, want, bare(t, printed(t, append(asked, "--capacity", "100kN", csv)...)), "CSV")
			var stdout bytes.Buffer
			in := &crumbs{r: r, text: []byte(asCSV(runs))}
			require.Zero(t, run(t.Context(), append(asked, "--capacity", "100kN", "-"), in, &stdout, os.Stderr))
			assert.Equal(t, want, bare(t, stdout.String()), "CSV through a pipe")
			assert.Equal(t, want["pulls"], asLive(t, r, dir), "live")
		})
	}
	for _, flag := range []string{pull.FlagStanding, pull.FlagOverload, pull.FlagGap, pull.FlagInvalid} {
		assert.True(t, seen[flag], "no trace had a pull with %q", flag)
	}
}

// crumbs is a pipe that gives a text in pieces of any size.
type crumbs struct {
	r    *rand.Rand
	text []byte
}

// Read gives the next piece.
func (c *crumbs) Read(p []byte) (int, error) {
	if len(c.text) == 0 {
		return 0, io.EOF
	}
	n := copy(p, c.text[:min(len(c.text), 1+c.r.IntN(1<<(1+c.r.IntN(14))))])
	c.text = c.text[n:]
	return n, nil
}
