package web_test

import (
	"context"
	"encoding/json"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/calibrate"
	"tautlog/dashboards/web/webtest"
	"tautlog/ingest/rehearse"
	"tautlog/ingest/store"
	"tautlog/ingest/wire"
)

// drawnWhen notes in the page, for each frame in which the running trace grew,
// its newest force and when the frame after it began.
const drawnWhen = `document.addEventListener("DOMContentLoaded", () => { window.drawn = [];
	const box = document.querySelector('[data-part="trace"]');
	new MutationObserver(() => { const newest = Number(box.dataset.newest); requestAnimationFrame(() => window.drawn.push([newest, performance.timeOrigin + performance.now()])); })
		.observe(box, { attributes: true, attributeFilter: ["data-newest"] }); });`

// sent is a reading as it went onto the line.
type sent struct {
	raw int64
	at  time.Time
}

// TestLatencyInBrowser measures how long it takes from a reading on the wire to
// its pixels, at a thousand readings a second through a pseudo-terminal: it
// notes when each reading is written and when the browser begins the frame
// after the one that drew it. A rising force tells the readings apart: one is
// drawn when a force as large as its own is.
//
// The times depend on the machine and are printed, not judged.
func TestLatencyInBrowser(t *testing.T) {
	needAssets(t)
	b := webtest.Start(t)
	b.Resize(webtest.Laptop())
	b.Before(drawnWhen)
	var mu sync.Mutex
	var all []sent
	risen := make(chan struct{})
	once := sync.OnceFunc(func() { close(risen) })
	const ramp = 25.0
	var opened atomic.Bool
	st := onlyCell(t, rehearse.Options{
		Cell:   rehearse.Cell{Name: "River-1", Capacity: 100_000, Rate: 1000, Curve: calibrate.Curve{Coefficients: []float64{0, 1}}, Wire: wire.Config{Format: wire.Text, Text: wire.TextConfig{Column: 1, Unit: "counts"}}},
		Script: rehearse.After(opened.Load, rehearse.Pulls(rehearse.Pull{Shape: rehearse.Proof{Level: 60_000, Ramp: ramp, Hold: 60, Release: 2}})),
		Sent: func(readings []rehearse.Sample, at time.Time) {
			mu.Lock()
			defer mu.Unlock()
			for _, r := range readings {
				all = append(all, sent{r.Raw, at})
				if r.Raw > 59_000 {
					once()
				}
			}
		},
	})
	b.Open(st.url("/line"))
	b.Await(`document.querySelector('[data-part="trace"]').dataset.points > 50`)
	opened.Store(true)
	<-risen // the browser is left alone meanwhile
	b.Await(`Number(document.querySelector('[data-part="trace"]').dataset.newest) > 59`)
	var drawn [][2]float64
	require.NoError(t, json.Unmarshal([]byte(webtest.Eval[string](b, `JSON.stringify(window.drawn)`)), &drawn))
	mu.Lock()
	defer mu.Unlock()
	var took []float64
	frame, low, high := 0, int64(6_000), int64(54_000) // where it rises by more than one count from reading to reading
	for _, r := range all {
		if r.raw < low || r.raw > high {
			continue
		}
		low = r.raw + 1
		for frame < len(drawn) && drawn[frame][0]*1000 < float64(r.raw)-0.05 {
			frame++
		}
		require.Less(t, frame, len(drawn), "the reading %d was not drawn", r.raw)
		took = append(took, drawn[frame][1]-float64(r.at.UnixNano())/1e6)
	}
	require.Greater(t, len(took), 10_000)
	assert.Positive(t, slices.Min(took), "a reading was drawn before it was sent: the clocks differ")
	slices.Sort(took)
	at := func(share float64) float64 { return took[int(share*float64(len(took)-1))] }
	t.Logf("from the wire to pixels, %d readings at 1 kHz on %d cores: median %.0f ms, 99 of 100 within %.0f ms, longest %.0f ms",
		len(took), runtime.NumCPU(), at(0.5), at(0.99), at(1))
	assert.Empty(t, b.Errors())
}

// onlyCell is a station with one simulated cell and no rig.
func onlyCell(t *testing.T, o rehearse.Options) *station {
	t.Helper()
	s, err := store.Open(t.TempDir(), store.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, s.Close()) })
	session, err := rehearse.Start(context.WithoutCancel(t.Context()), o)
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, session.Close()) })
	if !session.Real() {
		t.Log(session.Note())
	}
	c, err := s.SaveCell(t.Context(), store.Cell{Name: o.Cell.Name, Line: session.Line(), Wire: o.Cell.Wire, Curve: o.Cell.Curve, Capacity: o.Cell.Capacity, Rate: o.Cell.Rate})
	require.NoError(t, err)
	st := &station{store: s, cell: c, cells: []store.Cell{c}, sessions: []*rehearse.Session{session}}
	st.start(t, "127.0.0.1:0")
	t.Cleanup(func() { st.stop() })
	return st
}
