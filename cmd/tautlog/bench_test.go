//go:build unix

package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
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
	for name, args := range map[string][]string{
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

// BenchmarkYardstick runs the whole command and the same job in pandas and
// scipy (testdata/yardstick/pulls_scipy.py) in turn on ten million readings,
// each as a process of its own. Rerun it with
//
//	go test ./cmd/tautlog -run '^$' -bench Yardstick -benchtime 5x
func BenchmarkYardstick(b *testing.B) {
	const python = "/usr/bin/python3"
	if exec.Command(python, "-c", "import pandas, scipy").Run() != nil {
		skipOrFail(b, "python3-pandas and python3-scipy")
	}
	program := filepath.Join(b.TempDir(), "tautlog")
	out, err := exec.Command("go", "build", "-o", program, ".").CombinedOutput()
	require.NoError(b, err, string(out))
	path, _ := traceFile(b, 10_000_000)
	var ours, theirs spent
	for b.Loop() {
		ours.add(b, program, "pulls", "--json", path)
		theirs.add(b, python, "../../testdata/yardstick/pulls_scipy.py", path)
	}
	require.Equal(b, ours.pulls, theirs.pulls, "both find the same pulls")
	b.ReportMetric(ours.wall.Seconds()/float64(b.N), "s/tautlog")
	b.ReportMetric(theirs.wall.Seconds()/float64(b.N), "s/scipy")
	b.ReportMetric(ours.wall.Seconds()/theirs.wall.Seconds(), "wall-ratio")
	b.ReportMetric(ours.cpu.Seconds()/theirs.cpu.Seconds(), "cpu-ratio")
	b.ReportMetric(ours.peakMiB, "MiB/tautlog")
	b.ReportMetric(theirs.peakMiB, "MiB/scipy")
}

// skipOrFail skips a test whose reference is not installed, but not where all
// checks are asked for.
func skipOrFail(tb testing.TB, packages string) {
	tb.Helper()
	if os.Getenv("TAUTLOG_CHECKS") == "all" {
		tb.Fatalf("install the Debian packages %s", packages)
	}
	tb.Skipf("install the Debian packages %s to run this", packages)
}

// spent is what a program took in all its runs.
type spent struct {
	wall, cpu time.Duration
	peakMiB   float64
	pulls     int
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
	var found struct{ Pulls []json.RawMessage }
	require.NoError(tb, json.Unmarshal(stdout.Bytes(), &found))
	s.pulls = len(found.Pulls)
}

// peakMiB is the largest memory that a process held; Linux counts in KiB.
func peakMiB(p *os.ProcessState) float64 {
	if usage, ok := p.SysUsage().(*syscall.Rusage); ok {
		return float64(usage.Maxrss) / 1024
	}
	return 0
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
