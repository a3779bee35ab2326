//go:build unix

package main

import (
	"bufio"
	"context"
	"encoding/json"
	"io"
	"net/http"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/ingest/needs"
	"tautlog/ingest/store"
	"tautlog/ingest/wire"
)

// startServe runs the serve command and gives the address that it prints, and
// how to stop it as Ctrl-C does.
func startServe(t *testing.T, args ...string) (address string, stop func()) {
	t.Helper()
	address, end := serveUntilEnd(t, io.Discard, args...)
	stop = func() { assert.Zero(t, end(), "the exit code of serve") }
	t.Cleanup(stop)
	return address, stop
}

// serveUntilEnd is startServe with the log, and with an end that gives the exit
// code.
func serveUntilEnd(t *testing.T, log io.Writer, args ...string) (address string, end func() int) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.WithoutCancel(t.Context()))
	out, said := io.Pipe()
	ended := make(chan int, 1)
	go func() {
		ended <- run(ctx, append([]string{"serve", "--listen", "127.0.0.1:0"}, args...), nil, said, log)
		_ = said.Close()
	}()
	end = sync.OnceValue(func() int {
		cancel()
		return <-ended
	})
	t.Cleanup(func() { end() })
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		if m := regexp.MustCompile(`http://\S+`).FindString(lines.Text()); m != "" {
			go func() { _, _ = io.Copy(io.Discard, out) }()
			return strings.TrimSuffix(m, "/"), end
		}
	}
	require.Fail(t, "serve printed no address")
	return "", end
}

func get(t *testing.T, address string, into any) {
	t.Helper()
	r, err := http.Get(address)
	require.NoError(t, err)
	defer r.Body.Close()
	require.Equal(t, http.StatusOK, r.StatusCode, address)
	require.NoError(t, json.NewDecoder(r.Body).Decode(into))
}

// TestFromAnUnknownInstrumentToAPullInTheLog is the way of a new user with a
// cell that shares no code with this program: hear it, set it up, record it,
// see its pull; stop, and find the same pull in the store.
func TestFromAnUnknownInstrumentToAPullInTheLog(t *testing.T) {
	t.Parallel()
	link, data := filepath.Join(t.TempDir(), "cell"), t.TempDir()
	in := needs.Sender(t, link, "--rate", "1000", "--per-frame", "10",
		"--shape", "kinetic", "--at", "2", "--length", "0.8", "--every", "12", "--hold-at", "1.5", "--peak", "10500", "--zero", "800", "--noise", "4")

	code, _, remarks := tautlog(t, "cells", "--listen", link, "--for", "1500ms",
		"--save", "River-1", "--data", data, "--capacity", "100kN", "--curve", "-3200,4")
	require.Zero(t, code, remarks)

	address, stop := startServe(t, "--data", data)
	var told struct {
		Cells []struct {
			Status struct{ Decode wire.Stats }
		}
	}
	require.Eventually(t, func() bool {
		get(t, address+"/api/cells", &told)
		return len(told.Cells) == 1 && told.Cells[0].Status.Decode.Readings > 2000
	}, needs.Patience, 50*time.Millisecond, "a quiet line is recorded")
	in.GoOn()
	var log struct {
		Pulls []struct {
			Settled bool
			Found   struct {
				Kind     string
				Peak     float64 `json:"peak_N"`
				PeakLow  float64 `json:"peak_low_N"`
				PeakHigh float64 `json:"peak_high_N"`
			}
		}
	}
	require.Eventually(t, func() bool {
		get(t, address+"/api/pulls", &log)
		return len(log.Pulls) > 0 && log.Pulls[len(log.Pulls)-1].Settled
	}, needs.Patience, 200*time.Millisecond, "a settled pull")
	first := log.Pulls[len(log.Pulls)-1].Found
	assert.Equal(t, "kinetic", first.Kind)
	// Half a sine of 10500 counts at 4 N a count.
	assert.InEpsilon(t, 42000, first.Peak, 0.005)
	assert.LessOrEqual(t, first.PeakLow, 42000.0)
	assert.GreaterOrEqual(t, first.PeakHigh, 42000.0)
	stop()

	st, err := store.OpenReader(data)
	require.NoError(t, err)
	defer st.Close()
	require.NoError(t, st.Integrity(t.Context()))
	kept, err := st.Pulls(t.Context(), store.PullFilter{})
	require.NoError(t, err)
	require.NotEmpty(t, kept)
	assert.InEpsilon(t, first.Peak, float64(kept[len(kept)-1].Found.Peak), 1e-9)
}
