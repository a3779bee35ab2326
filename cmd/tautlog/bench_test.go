//go:build unix

package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"tautlog/analysis/survey"
	"tautlog/analysis/trace"
	"tautlog/ingest/tracefile"
)

// writeTrace writes n readings at 1 kHz: a noisy quiet line with a half-sine
// pull of 0.8 s every 50 s. The sizes are made up; what matters is that each
// line is as long as a logger's.
func writeTrace(w io.Writer, n int) error {
	random := rand.New(rand.NewPCG(3, 4))
	line := []byte("t_s,force_N\n")
	out := bytes.NewBuffer(make([]byte, 0, 1<<20))
	for i := range n {
		out.Write(line)
		f := 20 * random.NormFloat64()
		if at := float64(i%50_000-25_000) / 400; math.Abs(at) < 1 {
			f += 36_000 * math.Cos(at*math.Pi/2)
		}
		line = strconv.AppendFloat(line[:0], float64(i)/1000, 'f', 3, 64)
		line = strconv.AppendFloat(append(line, ','), f, 'f', 3, 64)
		line = append(line, '\n')
		if out.Len() > 1<<20-100 {
			if _, err := out.WriteTo(w); err != nil {
				return err
			}
		}
	}
	out.Write(line)
	_, err := out.WriteTo(w)
	return err
}

func traceFile(tb testing.TB, n int) (path string, size int64) {
	tb.Helper()
	path = filepath.Join(tb.TempDir(), "trace.csv")
	f, err := os.Create(path)
	require.NoError(tb, err)
	require.NoError(tb, writeTrace(f, n))
	info, err := f.Stat()
	require.NoError(tb, err)
	require.NoError(tb, f.Close())
	return path, info.Size()
}

// BenchmarkPulls is the whole command, from a CSV file to JSON.
func BenchmarkPulls(b *testing.B) {
	const n = 1_000_000
	path, size := traceFile(b, n)
	dir := filepath.Join(b.TempDir(), "store")
	require.Zero(b, run(context.Background(), []string{"import", path, "--data", dir, "--cell", "River-1", "--start", "2026-05-17T09:30:00Z", "--capacity", "100kN"}, nil, io.Discard, os.Stderr))
	for name, args := range map[string][]string{
		"store":            {"pulls", "--json", "--data", dir},
		"capacity unknown": {"pulls", "--json", path},
		"capacity":         {"pulls", "--json", "--capacity", "100kN", path},
		"cycles":           {"pulls", "--json", "--capacity", "100kN", "--cycles", "--gate", "200N", path},
	} {
		b.Run(name, func(b *testing.B) {
			b.SetBytes(size)
			for b.Loop() {
				require.Zero(b, run(context.Background(), args, nil, io.Discard, os.Stderr))
			}
			b.ReportMetric(float64(n)*float64(b.N)/b.Elapsed().Seconds(), "readings/s")
		})
	}
}

// BenchmarkEach analyses six days of a store, each for itself: side by side, and
// one after the other.
func BenchmarkEach(b *testing.B) {
	const n = 1_000_000
	dir, days := severalDays(b, n)
	asked := func(args ...string) {
		require.Zero(b, run(context.Background(), append([]string{"pulls", "--json", "--cycles", "--gate", "200N", "--data", dir}, args...), nil, io.Discard, os.Stderr))
	}
	for name, all := range map[string]func(){
		"side by side": func() { asked("--each", "cell,day") },
		"one after the other": func() {
			for _, cell := range []string{"River-1", "River-2"} {
				for _, day := range days {
					asked("--cell", cell, "--from", day, "--to", day+"T23:59")
				}
			}
		},
	} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				all()
			}
			b.ReportMetric(float64(2*len(days)*n)*float64(b.N)/b.Elapsed().Seconds(), "readings/s")
		})
	}
}

// BenchmarkDocument writes the answer of a day as JSON: 200 pulls, and 100,000
// load cycles.
func BenchmarkDocument(b *testing.B) {
	path, _ := traceFile(b, 100_000)
	t := traceFlags{capacity: 100e3}
	found, err := t.analyse(b.Context(), path, nil)
	require.NoError(b, err)
	for len(found.Pulls) < 200 {
		found.Pulls = append(found.Pulls, found.Pulls...)
	}
	found.Pulls = found.Pulls[:200]
	cycles := &tracefile.Cycles{}
	random := rand.New(rand.NewPCG(1, 2))
	for range 100_000 {
		cycles.Add(trace.Cycle{Range: 5e3 * random.Float64(), Mean: 5e3 * random.NormFloat64(), Count: 1})
	}
	defer func() { require.NoError(b, cycles.Close()) }()
	for name, t := range map[string]*told{"pulls": {Found: found}, "cycles": {Found: &survey.Found{}, cycles: cycles}} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				require.NoError(b, writePullsJSON(io.Discard, t))
			}
		})
	}
}

// Two million readings through a pipe, load cycles and all, take no more
// memory than a few chunks: what must be kept is kept on disk. What a process
// held counts from before it became another program, so this test does not
// run beside others.
func TestMemoryDoesNotGrowWithTheTrace(t *testing.T) {
	if raceDetector {
		t.Skip("the race detector takes memory of its own: go test -run Memory ./cmd/tautlog")
	}
	const n = 2_000_000
	c := exec.Command("tautlog", "pulls", "--json", "--cycles", "-") // as TestMain put it on the path
	in, err := c.StdinPipe()
	require.NoError(t, err)
	counted := &lineCounter{}
	c.Stdout = counted
	require.NoError(t, c.Start())
	require.NoError(t, writeTrace(in, n))
	require.NoError(t, in.Close())
	require.NoError(t, c.Wait())
	require.Greater(t, counted.lines, n/4, "a line a cycle")
	require.Less(t, peakMiB(c.ProcessState), 100.0, fmt.Sprintf("%d readings", n))
}

type lineCounter struct{ lines int }

func (l *lineCounter) Write(p []byte) (int, error) {
	l.lines += bytes.Count(p, []byte("\n"))
	return len(p), nil
}
