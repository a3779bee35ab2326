//go:build unix

package main

import (
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

var linearLengths = flag.String("lengths", "1000000,3000000,10000000", "lengths of the traces of BenchmarkLinear")

// BenchmarkLinear runs the whole command, load cycles and all, on longer and
// longer traces, from CSV and from the store, and reports the seconds for ten
// million readings and the most memory that the process held. Neither should
// grow with the length. The row in the README is its output for
//
//	go test ./cmd/tautlog -run '^$' -bench Linear -benchtime 1x -timeout 1h -lengths 10000000,30000000,100000000
//
// which takes 4 GB of the temporary directory for a while.
func BenchmarkLinear(b *testing.B) {
	program := filepath.Join(b.TempDir(), "tautlog")
	made(b, "go", "build", "-o", program, ".")
	for text := range strings.SplitSeq(*linearLengths, ",") {
		n, err := strconv.Atoi(text)
		require.NoError(b, err)
		b.Run("readings="+text, func(b *testing.B) {
			csv, _ := traceFile(b, n)
			store := filepath.Join(b.TempDir(), "store")
			made(b, program, "import", csv, "--data", store, "--cell", "River-1", "--start", "2026-05-17T09:30:00Z", "--capacity", "100kN")
			for _, job := range []struct {
				name string
				from []string
			}{{"CSV", []string{csv}}, {"store", []string{"--data", store}}} {
				b.Run(job.name, func(b *testing.B) {
					var s spent
					for b.Loop() {
						s.add(b, program, append([]string{"pulls", "--json", "--cycles", "--gate", "200N", "--capacity", "100kN"}, job.from...)...)
					}
					require.Equal(b, (n+25_000)/50_000, s.pulls)
					b.ReportMetric(s.wall.Seconds()/float64(b.N)/(float64(n)/1e7), "s/10M")
					b.ReportMetric(s.cpu.Seconds()/float64(b.N)/(float64(n)/1e7), "cpu-s/10M")
					b.ReportMetric(s.peakMiB, "MiB")
				})
			}
			require.NoError(b, os.Remove(csv)) // before the next one is made
		})
	}
}

// made runs a command that a benchmark needs the result of.
func made(b *testing.B, command string, args ...string) {
	b.Helper()
	out, err := exec.Command(command, args...).CombinedOutput()
	require.NoError(b, err, string(out))
}
