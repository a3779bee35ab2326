package main

import (
	"bufio"
	"flag"
	"fmt"
	"io"
	"math"
	"net/http"
	"os"
	"os/exec"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/calibrate"
	"tautlog/calc/kinetic"
	"tautlog/ingest/needs"
	"tautlog/ingest/rehearse"
	"tautlog/ingest/store"
	"tautlog/ingest/wire"
)

var (
	soakFor   = flag.Duration("soak", 5*time.Second, "how long TestSoak records")
	soakCells = flag.Int("soak-cells", 8, "how many cells TestSoak records")
	soakRate  = flag.Float64("soak-rate", 10_000, "readings a second of each cell in TestSoak")
)

// soaked is one simulated cell and what it sent.
type soaked struct {
	session *rehearse.Session
	mu      sync.Mutex
	sent    []int32
}

// soakCell is a noisy cell that is pulled at now and then, once it is recorded.
func soakCell(i int, recorded func() bool) (rehearse.Cell, rehearse.Script) {
	c := rehearse.Cell{
		Name: fmt.Sprintf("River-%d", i+1), Capacity: 100e3, Rate: *soakRate, Noise: 20, PerFrame: int(max(1, *soakRate/200)),
		Wire: wire.Config{Format: wire.Packed}, Curve: calibrate.Curve{Coefficients: []float64{0, 4}},
	}
	var pulls []rehearse.Pull
	for at := time.Duration(0); at < *soakFor; at += 20 * time.Second {
		pulls = append(pulls, rehearse.Pull{At: at, Shape: rehearse.Kinetic{Seconds: 2, Pull: kinetic.Pull{
			Puller: 2500, Speed: 3, Fixed: true, Line: kinetic.Line{Curve: kinetic.Linear(40e3), Loss: 0.2},
		}}})
	}
	return c, rehearse.After(recorded, rehearse.Pulls(pulls...))
}

// TestSoak has one daemon, in a process of its own, record many fast cells on
// pseudo-terminals, which wait for it where a busy machine does not let it read
// in time, with its pages and its pull finder at work, and finds every
// reading that was sent in the store, once and in its order. For how long, how
// many and how fast are flags; it prints what that cost.
func TestSoak(t *testing.T) {
	if raceDetector && *soakCells > 2 {
		*soakCells = 2 // it makes everything some ten times slower, the simulated cells too
	}
	data := t.TempDir()
	st, err := store.Open(data, store.Options{})
	require.NoError(t, err)
	all := make([]*soaked, *soakCells)
	var recorded atomic.Bool
	for i := range all {
		s := &soaked{}
		all[i] = s
		cell, script := soakCell(i, recorded.Load)
		s.session, err = rehearse.Start(t.Context(), rehearse.Options{Cell: cell, Script: script, Seed: uint64(i), Holds: true, Sent: func(rs []rehearse.Sample, _ time.Time) {
			s.mu.Lock()
			defer s.mu.Unlock()
			for _, r := range rs {
				s.sent = append(s.sent, int32(r.Raw))
			}
		}})
		require.NoError(t, err)
		_, err := st.SaveCell(t.Context(), store.Cell{Name: cell.Name, Line: s.session.Line(), Wire: cell.Wire, Curve: cell.Curve, Capacity: cell.Capacity, Rate: cell.Rate})
		require.NoError(t, err)
	}
	require.NoError(t, st.Close())

	daemon := exec.Command("tautlog", "serve", "--data", data, "--listen", "127.0.0.1:0") // as TestMain put it on the path
	daemon.Stderr = os.Stderr
	out, err := daemon.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, daemon.Start())
	began := time.Now()
	lines := bufio.NewScanner(out)
	require.True(t, lines.Scan())
	address := strings.TrimSuffix(strings.TrimPrefix(lines.Text(), "Pages: "), "/")
	go func() { _, _ = io.Copy(io.Discard, out) }()
	// Somebody watches the line.
	live, err := http.Get(address + "/api/live?cell=River-1")
	require.NoError(t, err)
	go func() { _, _ = io.Copy(io.Discard, live.Body) }()
	var told struct {
		Cells []struct {
			Name   string
			Status struct {
				Problem string
				Decode  wire.Stats
			}
		}
	}
	require.Eventually(t, func() bool {
		get(t, address+"/api/cells", &told)
		for _, c := range told.Cells {
			if float64(c.Status.Decode.Readings) < *soakRate {
				return false
			}
		}
		return len(told.Cells) == *soakCells
	}, needs.Patience, 50*time.Millisecond, "a quiet line of every cell is recorded")
	recorded.Store(true)
	time.Sleep(*soakFor) // it is the length of the test

	get(t, address+"/api/cells", &told)
	require.Len(t, told.Cells, *soakCells)
	for _, c := range told.Cells {
		assert.Empty(t, c.Status.Problem, c.Name)
		assert.Zero(t, c.Status.Decode.Lost, "%s: frames missing by the count of the cell", c.Name)
		assert.Zero(t, c.Status.Decode.Rejected, "%s: damaged frames", c.Name)
	}
	require.NoError(t, daemon.Process.Signal(os.Interrupt))
	require.NoError(t, daemon.Wait())
	_ = live.Body.Close()
	took := time.Since(began)
	for _, s := range all {
		require.NoError(t, s.session.Close())
	}

	r, err := store.OpenReader(data)
	require.NoError(t, err)
	defer r.Close()
	require.NoError(t, r.Integrity(t.Context()))
	total := 0
	for i, s := range all {
		cell, err := r.CellByName(t.Context(), fmt.Sprintf("River-%d", i+1))
		require.NoError(t, err)
		total += s.requireKept(t, r, cell)
	}
	pulls, err := r.Pulls(t.Context(), store.PullFilter{Limit: 1_000_000})
	require.NoError(t, err)
	assert.NotEmpty(t, pulls)
	cpu := daemon.ProcessState.UserTime() + daemon.ProcessState.SystemTime()
	t.Logf("%d cells at %g/s for %v: %d readings, none lost or doubled, %d pulls; %.1f %% of a core a cell, %.0f MiB at most",
		*soakCells, *soakRate, took.Round(time.Second), total, len(pulls), 100*cpu.Seconds()/took.Seconds()/float64(*soakCells), peakMiB(daemon.ProcessState))
}

// requireKept finds what is stored of the cell as one stretch of what it sent,
// and tells how long that is.
func (s *soaked) requireKept(t *testing.T, r *store.Store, cell store.Cell) (n int) {
	t.Helper()
	s.mu.Lock()
	defer s.mu.Unlock()
	var first []int32
	at, last := -1, int64(0)
	for run, err := range r.Runs(t.Context(), cell.ID, 0, math.MaxInt64) {
		require.NoError(t, err)
		require.Greater(t, run.Start, last, "%s: time goes on", cell.Name)
		last = run.At(len(run.Raw) - 1)
		for _, raw := range run.Raw {
			if at < 0 {
				if first = append(first, int32(raw)); len(first) == 64 {
					at = placeOf(first, s.sent)
					require.GreaterOrEqual(t, at, 0, "%s: what is stored was never sent", cell.Name)
					at += len(first)
				}
				n++
				continue
			}
			if s.sent[at] != int32(raw) {
				require.Equal(t, s.sent[at], int32(raw), "%s: reading %d of those that were sent", cell.Name, at)
			}
			at, n = at+1, n+1
		}
	}
	require.Greater(t, float64(n), 0.6**soakRate*soakFor.Seconds(), cell.Name)
	return n
}

// placeOf is where part begins in all; -1 where it does not.
func placeOf(part, all []int32) int {
next:
	for i := range len(all) - len(part) + 1 {
		for j, v := range part {
			if all[i+j] != v {
				continue next
			}
		}
		return i
	}
	return -1
}
