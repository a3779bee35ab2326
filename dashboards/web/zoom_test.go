package web_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/trace"
	"tautlog/ingest/store"
)

// told is a trace as charts get it.
type told struct {
	T, Low, High []float64
	N            []int
	Filtered     *told
}

func (f *fixture) trace(t *testing.T, target string) (v told) {
	t.Helper()
	require.NoError(t, json.Unmarshal([]byte(f.page(t, target)), &v))
	return v
}

// TestFilteredTrace: what is laid over the readings of a window is what the
// filter makes of the whole trace there, single readings as columns.
func TestFilteredTrace(t *testing.T) {
	f := newFixture(t)
	filter, ok := trace.NewCFC(trace.DefaultClass, 1000)
	require.True(t, ok)
	whole := make([]float64, 0, 10_000)
	for _, v := range pulse() {
		whole = append(whole, float64(v))
	}
	want := filter.Apply(1000, whole)
	at := func(ms int64) int64 { return start.UnixNano() + ms*1e6 }
	path := fmt.Sprintf("/api/pulls/%d/trace?from=%d&to=%d&columns=400", f.pull.ID, at(3950), at(4150))
	assert.Nil(t, f.trace(t, path).Filtered)
	got := f.trace(t, path+"&filter=1").Filtered
	require.Equal(t, 200, len(got.T))
	for i := range got.T {
		assert.InDelta(t, want[3950+i], got.High[i], 0.06, "reading %d, in tenths of a newton", i)
		assert.Equal(t, 1, got.N[i])
	}

	wide := f.trace(t, fmt.Sprintf("/api/pulls/%d/trace?from=%d&to=%d&columns=100&filter=1", f.pull.ID, at(0), at(10_000)))
	assert.LessOrEqual(t, len(wide.Filtered.T), 101)
	year := fmt.Sprintf("/api/pulls/%d/trace?from=%d&to=%d&filter=1", f.pull.ID, at(0), at(3_600_000))
	assert.Equal(t, http.StatusBadRequest, f.ask("GET", year, nil, nil).StatusCode, "too wide to be filtered")
}

// TestFilterKeepsGaps: over a gap the filtered trace is as open as the
// readings are.
func TestFilterKeepsGaps(t *testing.T) {
	f := newFixture(t)
	later := start.UnixNano() + 60e9
	for _, from := range []int64{0, 700} { // 300 ms, a gap, 300 ms
		require.NoError(t, f.store.Append(t.Context(), []store.Run{{Cell: f.cell.ID, Start: later + from*1e6, Step: 1e6, Raw: pulse()[4100:4400]}}))
	}
	got := f.trace(t, fmt.Sprintf("/api/pulls/%d/trace?from=%d&to=%d&columns=2000&filter=1", f.pull.ID, later, later+1e9)).Filtered
	require.Equal(t, 600, len(got.T))
	assert.InDelta(t, 401, got.T[300]-got.T[299], 1)
	assert.InDelta(t, got.High[0], got.High[300], 0.2, "each part stands for itself")
}

func TestDayTrace(t *testing.T) {
	f := newFixture(t)
	page := f.page(t, "/days/2026-03-14/trace")
	assert.Contains(t, page, "Pull 1")
	assert.Contains(t, page, `data-origin="1773482400000"`)
	assert.Contains(t, f.page(t, "/days/2026-03-14"), `href="/days/2026-03-14/trace"`)
	for _, none := range []string{"/days/2026-03-15/trace", "/days/2026-03-14/trace?cell=River-9", "/days/yesterday/trace"} {
		assert.Equal(t, http.StatusNotFound, f.ask("GET", none, nil, nil).StatusCode, none)
	}
}
