package web_test

import (
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/calc/unit"
	"tautlog/ingest/store"
)

// TestPeaksOfAListHaveOneNumberOfDecimals: that of all but the
// quarter that is least sure, where a peak has fewer; each has its interval beside it.
func TestPeaksOfAListHaveOneNumberOfDecimals(t *testing.T) {
	t.Parallel()
	f := newFixture(t) // its pull is 40 kN, 39.8 to 40.9
	for i, p := range []struct{ peak, low, high unit.Force }{{12_993, 12_989, 12_997}, {27_871, 27_833, 27_904}, {31_049, 31_000, 31_110}, {22_000, 15_000, 29_000}} {
		at := start.UnixNano() - int64(i+1)*3600e9
		_, err := f.store.SavePull(t.Context(), store.Pull{Cell: f.cell.ID, Settled: true, Found: pull.Pull{
			Start: at, End: at + 1e9, PeakAt: at, Kind: pull.Kinetic, Peak: p.peak, PeakLow: p.low, PeakHigh: p.high,
		}})
		require.NoError(t, err)
	}
	want := []string{
		"40.00 kN (true peak 39.80 to 40.90)",
		"12.99 kN (true peak 12.98 to 13.00)",
		"27.87 kN (true peak 27.83 to 27.91)",
		"31.05 kN (true peak 31.00 to 31.11)",
		"22.0 kN (true peak 15.0 to 29.0)", // its interval allows no more
	}
	row := regexp.MustCompile(`([\d.]+ kN \(true peak [\d.]+ to [\d.]+\)) \d\d:`)
	for _, page := range []string{"/pulls", "/days/2026-03-14"} {
		var got []string
		for _, m := range row.FindAllStringSubmatch(spoken(f.page(t, page)), -1) {
			got = append(got, m[1])
		}
		assert.Equal(t, want, got, page)
	}
}
