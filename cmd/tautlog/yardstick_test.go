//go:build unix

package main

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"tautlog/ingest/needs"

	"github.com/stretchr/testify/require"
)

var yardstickReadings = flag.Int("readings", 10_000_000, "length of the trace of BenchmarkYardstick")

// BenchmarkYardstick runs the whole command and the same job in pandas, numpy
// and scipy (testdata/yardstick/pulls_scipy.py) in turn on ten million
// readings, each as a process of its own: from CSV, and from the store against
// a file as numpy keeps it; with load cycles and without. The table in the
// README is its output on a machine at rest; again with
//
//	go test ./cmd/tautlog -run '^$' -bench Yardstick -benchtime 3x
func BenchmarkYardstick(b *testing.B) {
	needs.Python(b, "python3-pandas and python3-scipy", "pandas", "scipy")
	y := newYardstick(b)
	for _, job := range []struct {
		name         string
		ours, theirs []string
	}{
		{"CSV", []string{"pulls", "--json", y.csv}, []string{y.csv}},
		{"CSV with cycles", []string{"pulls", "--json", "--cycles", "--gate", "200N", y.csv}, []string{y.csv, "200"}},
		{"store", []string{"pulls", "--json", "--data", y.store}, []string{y.npy}},
		{"store with cycles", []string{"pulls", "--json", "--cycles", "--gate", "200N", "--data", y.store}, []string{y.npy, "200"}},
	} {
		b.Run(job.name, func(b *testing.B) { y.compare(b, job.ours, job.theirs) })
	}
}

const python = "/usr/bin/python3"

// yardstick is one trace in all its forms, and the program.
type yardstick struct{ program, csv, npy, store string }

func newYardstick(b *testing.B) yardstick {
	dir := b.TempDir()
	y := yardstick{program: filepath.Join(dir, "tautlog"), npy: filepath.Join(dir, "trace.npy"), store: filepath.Join(dir, "store")}
	y.csv, _ = traceFile(b, *yardstickReadings)
	for _, command := range [][]string{
		{"go", "build", "-o", y.program, "."},
		{y.program, "import", y.csv, "--data", y.store, "--cell", "River-1", "--start", "2026-05-17T09:30:00Z", "--capacity", "100kN"},
		{python, "-c", "import sys, numpy, pandas; numpy.save(sys.argv[2], pandas.read_csv(sys.argv[1]).to_numpy().T.copy())", y.csv, y.npy},
	} {
		made(b, command[0], command[1:]...)
	}
	return y
}

// compare runs both sides in turn.
func (y yardstick) compare(b *testing.B, ours, theirs []string) {
	var a, s spent
	for b.Loop() {
		a.add(b, y.program, ours...)
		s.add(b, python, append([]string{"../../testdata/yardstick/pulls_scipy.py"}, theirs...)...)
	}
	require.Equal(b, a.pulls, s.pulls, "both find the same pulls")
	require.Equal(b, a.cycles, s.cycles, "and the same cycles")
	b.ReportMetric(a.wall.Seconds()/float64(b.N), "s/tautlog")
	b.ReportMetric(s.wall.Seconds()/float64(b.N), "s/scipy")
	b.ReportMetric(s.wall.Seconds()/a.wall.Seconds(), "times-faster")
	b.ReportMetric(s.cpu.Seconds()/a.cpu.Seconds(), "times-less-cpu")
	b.ReportMetric(a.peakMiB, "MiB/tautlog")
	b.ReportMetric(s.peakMiB, "MiB/scipy")
}

// spent is what a program took in all its runs.
type spent struct {
	wall, cpu time.Duration
	peakMiB   float64
	pulls     int
	cycles    int
}

func (s *spent) add(tb testing.TB, program string, args ...string) {
	tb.Helper()
	var stdout, stderr bytes.Buffer
	c := exec.Command(program, args...)
	c.Stdout, c.Stderr = &stdout, &stderr
	begin := time.Now()
	require.NoError(tb, c.Run(), stderr.String())
	s.wall += time.Since(begin)
	s.cpu += c.ProcessState.UserTime() + c.ProcessState.SystemTime()
	s.peakMiB = max(s.peakMiB, peakMiB(c.ProcessState))
	var found struct{ Pulls, Cycles []json.RawMessage }
	require.NoError(tb, json.Unmarshal(stdout.Bytes(), &found))
	s.pulls, s.cycles = len(found.Pulls), len(found.Cycles)
}

// peakMiB is the largest memory that a process held; Linux counts in KiB.
func peakMiB(p *os.ProcessState) float64 {
	if usage, ok := p.SysUsage().(*syscall.Rusage); ok {
		return float64(usage.Maxrss) / 1024
	}
	return 0
}
