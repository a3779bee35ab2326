package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/ingest/store"
)

// printed runs one command line and gives what it printed.
func printed(t *testing.T, args ...string) string {
	t.Helper()
	var stdout, stderr bytes.Buffer
	require.Zero(t, run(t.Context(), args, strings.NewReader(""), &stdout, &stderr), stderr.String())
	return stdout.String()
}

type foundPulls struct {
	Trace struct {
		Samples  int
		Duration float64 `json:"duration_s"`
	}
	Pulls []map[string]any
}

func pullsOf(t *testing.T, args ...string) (found foundPulls) {
	t.Helper()
	require.NoError(t, json.Unmarshal([]byte(printed(t, append([]string{"pulls", "--json"}, args...)...)), &found))
	return found
}

// A trace that was imported, asked of the store and of an exported file, has
// the same pulls, and the log of the store has them too.
func TestStoredTraceHasThePullsOfTheFile(t *testing.T) {
	t.Parallel()
	path, _ := traceFile(t, 200_000)
	dir := filepath.Join(t.TempDir(), "store")
	exported := filepath.Join(t.TempDir(), "exported.csv")
	summary := printed(t, "import", path, "--data", dir, "--cell", "River-1", "--start", "2026-05-17T09:30:00Z", "--capacity", "100kN")
	assert.Equal(t, "200000 readings of cell River-1 from 2026-05-17T09:30:00Z to 2026-05-17T09:33:19.999Z, with 4 pulls\n", summary)
	printed(t, "export", "--data", dir, "-o", exported)

	want := pullsOf(t, path, "--capacity", "100kN")
	require.Len(t, want.Pulls, 4)
	for name, got := range map[string]foundPulls{
		"store":    pullsOf(t, "--data", dir),
		"exported": pullsOf(t, exported, "--capacity", "100kN"),
	} {
		require.Equal(t, want.Trace, got.Trace, name)
		require.Len(t, got.Pulls, 4, name)
		for i, p := range got.Pulls {
			for _, key := range []string{"start_s", "end_s", "kind", "peak_at_s"} {
				assert.Equal(t, want.Pulls[i][key], p[key], "%s, pull %d, %s", name, i, key)
			}
			for _, key := range []string{"peak_N", "rise_time_s", "impulse_N_s", "max_rise_rate_N_per_s"} {
				assert.InEpsilon(t, want.Pulls[i][key], p[key], 1e-9, "%s, pull %d, %s", name, i, key)
			}
		}
	}
	part := pullsOf(t, "--data", dir, "--from", "2026-05-17T09:30:50Z", "--to", "2026-05-17T09:31:40Z")
	assert.Equal(t, 50_000, part.Trace.Samples)
	assert.Len(t, part.Pulls, 1)

	db, err := store.OpenReader(dir)
	require.NoError(t, err)
	defer db.Close()
	logged, err := db.Pulls(t.Context(), store.PullFilter{})
	require.NoError(t, err)
	require.Len(t, logged, 4)
	for _, p := range logged {
		assert.True(t, p.Settled)
	}
}

// The document has the keys that other programs rely on, with null only where
// a pull has no such thing.
func TestPullsDocument(t *testing.T) {
	t.Parallel()
	path, _ := traceFile(t, 100_000)
	var document map[string]json.RawMessage
	require.NoError(t, json.Unmarshal([]byte(printed(t, "pulls", "--json", path)), &document))
	assert.ElementsMatch(t, []string{"trace", "pulls", "spikes", "zero"}, keysOf(document))
	var pulls []map[string]any
	require.NoError(t, json.Unmarshal(document["pulls"], &pulls))
	require.Len(t, pulls, 2)
	for _, key := range []string{
		"start_s", "end_s", "kind", "peak_N", "peak_at_s", "peak_low_N", "peak_high_N", "rise_time_s", "rise_rate_N_per_s",
		"max_rise_rate_N_per_s", "impulse_to_peak_N_s", "impulse_N_s", "above_half_s", "flags",
	} {
		assert.NotNil(t, pulls[0][key], key)
	}
	for _, key := range []string{"steady_N", "rebound_hz", "damping_ratio"} {
		assert.Contains(t, pulls[0], key)
	}
	// The pulls of writeTrace are half-sines of 36 kN and 0.8 s: 36 kN · 2/π ·
	// 0.8 s, up to what lies below the threshold.
	assert.InEpsilon(t, 36_000, pulls[0]["peak_N"], 0.005)
	assert.InEpsilon(t, 36_000*2/math.Pi*0.8, pulls[0]["impulse_N_s"], 0.005)
	assert.InDelta(t, 25, pulls[0]["peak_at_s"], 0.05)
}

// A lone spike is listed, and is no load cycle by either way of counting where
// that is asked for. Otherwise the whole trace counts.
func TestSpikesAreNoCycles(t *testing.T) {
	t.Parallel()
	var text bytes.Buffer
	require.NoError(t, writeTrace(&text, 60_000))
	clean := text.String()
	lines := strings.Split(clean, "\n")
	for _, i := range []int{7_000, 40_000} { // 8 seconds apart from any load
		at, _, _ := strings.Cut(lines[i], ",")
		lines[i] = at + ",29000"
	}
	counted := func(text, method string, more ...string) (cycles []map[string]float64, spikes int) {
		path := filepath.Join(t.TempDir(), "trace.csv")
		require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
		var document struct {
			Cycles []map[string]float64
			Spikes []any
		}
		ask := append([]string{"pulls", "--json", "--cycles", "--gate", "2kN", "--count", method, "--capacity", "100kN", path}, more...)
		require.NoError(t, json.Unmarshal([]byte(printed(t, ask...)), &document))
		return document.Cycles, len(document.Spikes)
	}
	for _, method := range []string{"rainflow", "reservoir"} {
		want, none := counted(clean, method)
		whole, _ := counted(strings.Join(lines, "\n"), method)
		require.Greater(t, len(whole), len(want), method)
		got, spikes := counted(strings.Join(lines, "\n"), method, "--without-spikes")
		require.NotEmpty(t, want)
		require.Equal(t, []int{0, 2}, []int{none, spikes})
		require.Equal(t, want, got, method)
	}
}

func keysOf(m map[string]json.RawMessage) (keys []string) {
	for k := range m {
		keys = append(keys, k)
	}
	return keys
}

// The flags of analysis do what their names say, on a file in every form that
// a logger may write.
func TestPullsOfOneTraceInManyForms(t *testing.T) {
	t.Parallel()
	var plain bytes.Buffer
	require.NoError(t, writeTrace(&plain, 60_000))
	lines := strings.Split(strings.TrimSpace(plain.String()), "\n")[1:]
	want := pullsFrom(t, plain.String())
	require.Len(t, want.Pulls, 1)
	form := func(header, end string, line func(seconds, force string) string) string {
		var b strings.Builder
		b.WriteString(header + end)
		for _, l := range lines {
			s, f, _ := strings.Cut(l, ",")
			b.WriteString(line(s, f) + end)
		}
		return b.String()
	}
	comma := strings.NewReplacer(".", ",")
	for name, got := range map[string]foundPulls{
		"semicolons, CRLF": pullsFrom(t, form("force_N;t_s", "\r\n", func(s, f string) string { return f + ";" + s })),
		"decimal comma":    pullsFrom(t, form("time_s\tforce_N", "\n", func(s, f string) string { return comma.Replace(s + "\t" + f) }), "--decimal-comma"),
		"other names":      pullsFrom(t, form("t,load", "\n", func(s, f string) string { return s + "," + f }), "--time-column", "t", "--force-column", "load", "--unit", "N"),
		"quoted":           pullsFrom(t, form(`"t_s","force_N"`, "\n", func(s, f string) string { return fmt.Sprintf("%q,%q", s, f) })),
	} {
		assert.Equal(t, want, got, name)
	}
}

func pullsFrom(t *testing.T, text string, args ...string) (found foundPulls) {
	t.Helper()
	var stdout, stderr bytes.Buffer
	code := run(t.Context(), append([]string{"pulls", "--json", "-"}, args...), io.MultiReader(strings.NewReader(text)), &stdout, &stderr)
	require.Zero(t, code, stderr.String())
	require.NoError(t, json.Unmarshal(stdout.Bytes(), &found))
	return found
}

// Two pulls of a trace beside each other: half-sines that differ in nothing
// but noise do not differ as far as can be told, and their courses cover each
// other.
func TestPullsCompared(t *testing.T) {
	t.Parallel()
	path, _ := traceFile(t, 150_000)
	type differs struct{ Difference, Low, High float64 }
	for _, align := range []string{"onset", "peak"} {
		var document struct {
			Pulls      []map[string]any
			Comparison struct {
				Align string
				To    int
				Pulls []struct {
					Pull    int
					Peak    differs  `json:"peak_N"`
					Rise    *differs `json:"rise_time_s"`
					Rate    *differs `json:"rise_rate_N_per_s"`
					Impulse differs  `json:"impulse_N_s"`
				}
				Curves []struct {
					Pull  int
					From  float64   `json:"from_s"`
					Step  float64   `json:"step_s"`
					Force []float64 `json:"force_N"`
				}
			}
		}
		require.NoError(t, json.Unmarshal([]byte(printed(t, "pulls", "--json", "--compare", "1,3", "--align", align, path)), &document))
		require.Len(t, document.Pulls, 3)
		k := document.Comparison
		assert.Equal(t, align, k.Align)
		assert.Equal(t, 1, k.To)
		require.Len(t, k.Pulls, 1)
		assert.Equal(t, 3, k.Pulls[0].Pull)
		for _, d := range []differs{k.Pulls[0].Peak, *k.Pulls[0].Rise, *k.Pulls[0].Rate, k.Pulls[0].Impulse} {
			assert.LessOrEqual(t, d.Low, d.Difference)
			assert.LessOrEqual(t, d.Difference, d.High)
		}
		assert.InDelta(t, 0, k.Pulls[0].Peak.Difference, 0.005*36_000)
		require.Len(t, k.Curves, 2)
		for _, c := range k.Curves {
			assert.Less(t, len(c.Force), 1100)
			assert.Greater(t, len(c.Force), 400)
		}
		assert.InDelta(t, document.Pulls[0]["peak_at_s"].(float64)+50*2, document.Pulls[2]["peak_at_s"].(float64), 0.1)
	}
	assert.Regexp(t, `rise from 10 to 90 % in [0-9.]+ s ± 0\.[0-9]+ s, [0-9.]+ ± [0-9.]+ kN/s on average, .*\n   impulse .* kN·s to the peak, [0-9.]+ ± [0-9.]+ kN·s in all`, printed(t, "pulls", path))
	assert.Contains(t, printed(t, "pulls", "--compare", "1,3", path), "\nPull 3 beside pull 1, read by the same cell:\n   peak ")
}

// severalDays is a store with two cells and three days of readings of each, one
// day without any between them: n readings a day from nine o'clock.
func severalDays(tb testing.TB, n int) (dir string, days []string) {
	tb.Helper()
	dir = filepath.Join(tb.TempDir(), "store")
	path, _ := traceFile(tb, n)
	days = []string{"2026-05-16", "2026-05-17", "2026-05-19"}
	for _, cell := range []string{"River-2", "River-1"} {
		for _, day := range days {
			at, err := time.ParseInLocation("2006-01-02T15:04:05", day+"T09:00:00", time.Local)
			require.NoError(tb, err)
			var stderr bytes.Buffer
			require.Zero(tb, run(tb.Context(), []string{"import", path, "--data", dir, "--cell", cell, "--start", at.Format(time.RFC3339)}, nil, io.Discard, &stderr), stderr.String())
		}
	}
	return dir, days
}

// The parts of a store side by side are told just as one after the other, in
// the order of cells and days, in JSON and in words.
func TestEachPartIsToldAsAlone(t *testing.T) {
	t.Parallel()
	dir, days := severalDays(t, 60_000)
	midnight := map[string]string{days[0]: "2026-05-17", days[1]: "2026-05-18", days[2]: "2026-05-20"}
	told := []string{"--cycles", "--gate", "40N", "--histogram", "2kN"}
	with := func(args ...string) string { return printed(t, append(append([]string{"pulls"}, told...), args...)...) }
	var text []string
	var want []map[string]any
	for _, cell := range []string{"River-1", "River-2"} {
		for _, day := range days {
			alone := []string{"--data", dir, "--cell", cell, "--from", day, "--to", midnight[day]}
			text = append(text, "== cell "+cell+", "+day+"\n"+with(alone...))
			var document map[string]any
			require.NoError(t, json.Unmarshal([]byte(with(append(alone, "--json")...)), &document))
			document["cell"], document["day"] = cell, day
			want = append(want, document)
		}
	}
	assert.Equal(t, strings.Join(text, "\n"), with("--data", dir, "--each", "cell,day"))
	var got struct{ Traces []map[string]any }
	require.NoError(t, json.Unmarshal([]byte(with("--data", dir, "--each", "cell,day", "--json")), &got))
	assert.Equal(t, want, got.Traces)
	assert.NotEmpty(t, want[0]["pulls"])

	assert.Equal(t, strings.Join(text[1:3], "\n"), with("--data", dir, "--each", "day", "--cell", "River-1", "--from", "2026-05-17"))
	assert.Equal(t, "== cell River-1\n"+with("--data", dir, "--cell", "River-1")+"\n== cell River-2\n"+with("--data", dir, "--cell", "River-2"), with("--data", dir, "--each", "cell"))
}

// A part that cannot be read ends it, and nothing is printed.
func TestEachPartOrNone(t *testing.T) {
	t.Parallel()
	dir, _ := severalDays(t, 2000)
	for says, args := range map[string][]string{
		"no readings in that time": {"--data", dir, "--each", "cell,day", "--from", "2027-01-01"},
		"is no part of a store":    {"--data", dir, "--each", "week"},
		"leave out --cell":         {"--data", dir, "--each", "cell", "--cell", "River-1"},
		"leave out --each":         {"--data", dir, "--each", "cell", "--compare", "1,2"},
		"choose one with --cell":   {"--data", dir, "--each", "day"},
		"add --data DIR":           {"x.csv", "--each", "day"},
	} {
		var stdout, stderr bytes.Buffer
		assert.NotZero(t, run(t.Context(), append([]string{"pulls"}, args...), nil, &stdout, &stderr), says)
		assert.Contains(t, stderr.String(), says)
		assert.Empty(t, stdout.String(), says)
	}
}
