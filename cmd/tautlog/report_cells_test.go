package main

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/calc/unit"
	"tautlog/ingest/store"
)

// TestReportJudgesByBothCells: the report of a pull with two cells in its rig
// judges it by both where the store has the pull of the other one. 30 and 21 kN
// at 60° are √(30² + 21² + 30·21) = 44.4 kN.
func TestReportJudgesByBothCells(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	s, err := store.Open(dir, store.Options{})
	require.NoError(t, err)
	g, err := readRig("../../testdata/rigs/two-cells.json")
	require.NoError(t, err)
	at := pull.Pull{Start: 1.7e18, End: 1.7e18 + 1e9, PeakAt: 1.7e18 + 5e8, Kind: pull.Steady, Rate: 1000}
	for name, peak := range map[string]unit.Force{"River-1": 30e3, "River-2": 21e3} {
		c, err := s.SaveCell(t.Context(), store.Cell{Name: name})
		require.NoError(t, err)
		p := store.Pull{Cell: c.ID, Found: at, Settled: true}
		p.Found.Peak, p.Found.PeakLow, p.Found.PeakHigh = peak, peak-100, peak+100
		if name == "River-1" {
			p.Rig = &g
		}
		_, err = s.SavePull(t.Context(), p)
		require.NoError(t, err)
	}
	require.NoError(t, s.Close())

	out := filepath.Join(dir, "day.html")
	var said bytes.Buffer
	require.Equal(t, 0, run(t.Context(), []string{"report", "--data", dir, "--day", time.Unix(0, at.Start).Format(time.DateOnly), "-o", out}, nil, &said, &said), said.String())
	page, err := os.ReadFile(out)
	require.NoError(t, err)
	assert.Contains(t, string(page), "It carried at most 44.40 kN")
	assert.Contains(t, string(page), ">21.00 kN</text>")
	assert.NotContains(t, string(page), "There is no pull of")
}
