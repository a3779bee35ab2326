package web_test

import (
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"os"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tautlog/calc/calibrate"
	"tautlog/dashboards/web"
	"tautlog/dashboards/web/webtest"
	"tautlog/ingest/store"
)

// longDay is a store that holds a day of 29 million readings: eight hours at a
// thousand a second, with noise and a swell; TAUTLOG_BENCH_READINGS gives
// another number.
func longDay(b *testing.B) (address string, begin time.Time, lasts time.Duration) {
	b.Helper()
	n := 29_000_000
	if given := os.Getenv("TAUTLOG_BENCH_READINGS"); given != "" {
		var err error
		n, err = strconv.Atoi(given)
		require.NoError(b, err)
	}
	s, err := store.Open(b.TempDir(), store.Options{})
	require.NoError(b, err)
	b.Cleanup(func() { require.NoError(b, s.Close()) })
	c, err := s.SaveCell(b.Context(), store.Cell{Name: "River-1", Curve: calibrate.Curve{Coefficients: []float64{0, 1}}, Capacity: 100_000, Rate: 1000})
	require.NoError(b, err)
	begin = time.Date(2026, 3, 14, 8, 0, 0, 0, time.UTC)
	noise := rand.New(rand.NewPCG(1, 2))
	const part = 1_000_000
	for at := 0; at < n; at += part {
		raw := make([]int64, min(part, n-at))
		for i := range raw {
			raw[i] = int64(5*noise.NormFloat64()) + int64((at+i)/1000%600*40)
		}
		require.NoError(b, s.Append(b.Context(), []store.Run{{Cell: c.ID, Start: begin.UnixNano() + int64(at)*1e6, Step: 1e6, Raw: raw}}))
	}
	_, err = s.Fold(b.Context(), c.ID)
	require.NoError(b, err)
	pages, err := web.New(web.Config{Store: s, Zone: time.UTC})
	require.NoError(b, err)
	srv := httptest.NewServer(pages)
	b.Cleanup(srv.Close)
	return srv.URL, begin, time.Duration(n) * time.Millisecond
}

// windows are what a person goes through from a whole day to single readings.
// Of those in between, 17 minutes is where most readings are looked at one by
// one, just before the levels are fine enough.
var windows = []struct {
	name string
	long time.Duration
}{{"day", 0}, {"2h", 2 * time.Hour}, {"17min", 17 * time.Minute}, {"2min", 2 * time.Minute}, {"10s", 10 * time.Second}, {"200ms", 200 * time.Millisecond}}

// BenchmarkDay asks for the trace of a day of 29 million readings over HTTP, in
// as many columns as a laptop is wide: whole, and zoomed in.
func BenchmarkDay(b *testing.B) {
	address, begin, lasts := longDay(b)
	for _, w := range windows {
		from, long := begin.Add(lasts/2), w.long
		if long == 0 {
			from, long = begin, lasts
		}
		target := fmt.Sprintf("%s/api/trace?cell=River-1&from=%d&to=%d&columns=1000", address, from.UnixNano(), from.Add(long).UnixNano())
		b.Run(w.name, func(b *testing.B) {
			for b.Loop() {
				res, err := http.Get(target) //nolint:noctx // the benchmark's own limit ends it
				if err != nil {
					b.Fatal(err)
				}
				n, err := io.Copy(io.Discard, res.Body)
				if err != nil || res.StatusCode != http.StatusOK || n < 3000 {
					b.Fatal(res.Status, n, err)
				}
				_ = res.Body.Close()
			}
		})
	}
}

// shownIn has the page show a stretch and gives the milliseconds until the
// frame after the one that drew it.
const shownIn = `new Promise((done) => { const box = document.querySelector('[data-part="trace"]'); const begin = performance.now();
	new MutationObserver((_all, me) => { me.disconnect(); requestAnimationFrame(() => { window.took = performance.now() - begin; done(); }); }).observe(box, { attributes: true, attributeFilter: ["data-shown"] });
	document.querySelector('[data-part="%s"]').click(); }); true`

// BenchmarkDayInBrowser opens the page of that day in a real browser, shows the
// whole day, and zooms in by the button until single readings are seen. What it
// reports is from the tap to the pixels.
func BenchmarkDayInBrowser(b *testing.B) {
	br := webtest.Start(b)
	br.Resize(webtest.Laptop())
	address, _, _ := longDay(b)
	const drawn = `document.querySelector('[data-part="trace"]')?.dataset.points > 100`
	press := func(button string) float64 {
		webtest.Eval[bool](br, "window.took = undefined; true")
		webtest.Eval[bool](br, fmt.Sprintf(shownIn, button))
		br.Await("window.took !== undefined")
		return webtest.Eval[float64](br, "window.took")
	}
	for b.Loop() {
		br.Open(address + "/days/2026-03-14/trace")
		br.Await(drawn)
		var entry struct{ Opened float64 }
		require.NoError(b, json.Unmarshal([]byte(webtest.Eval[string](br, `JSON.stringify({ Opened: performance.getEntriesByType("resource").find((e) => e.name.includes("/api/trace")).duration })`)), &entry))
		longest := 0.0
		for webtest.Eval[string](br, `document.querySelector('[data-part="trace"]').dataset.few`) != "true" {
			longest = max(longest, press("in"))
		}
		b.ReportMetric(entry.Opened, "fetched-ms")
		b.ReportMetric(press("whole"), "whole-ms")
		b.ReportMetric(longest, "longest-zoom-ms")
	}
}
