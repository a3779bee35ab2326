package web_test

import (
	"bytes"
	"fmt"
	"maps"
	"net/http"
	"net/url"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/dashboards/people"
	"tautlog/dashboards/web"
)

// clubTargets are the addresses that are measured over a large club, by the
// route that answers. What stands in angle brackets is filled in by clubNames.
var clubTargets = map[string][]string{
	"GET /{$}":                          {"/"},
	"GET /assets/{version}/{name}":      {"<asset>"},
	"GET /line":                         {"/line"},
	"GET /line/results":                 {"/line/results?cell=River-1"},
	"GET /line/rig":                     {"/line/rig?cell=River-1"},
	"GET /api/cells":                    {"/api/cells"},
	"GET /api/trace":                    {"/api/trace?seconds=120", "/api/trace?from=<from>&to=<to>&columns=1000"},
	"GET /days":                         {"/days"},
	"GET /days/{date}":                  {"/days/2026-03-14", "/days/2024-05-03"},
	"GET /days/{date}/trace":            {"/days/2026-03-14/trace"},
	"GET /days/{date}/day/{id}":         {"/days/2026-03-14/day/<day>"},
	"GET /cells":                        {"/cells"},
	"GET /cells/new":                    {"/cells/new"},
	"GET /cells/{name}":                 {"/cells/River-1"},
	"GET /cells/{name}/steady":          {"/cells/River-1/steady"},
	"GET /cells/{name}/points":          {"/cells/River-1/points"},
	"GET /api/cells/{name}/calibration": {"/api/cells/River-1/calibration"},
	"GET /pulls":                        {"/pulls", "/pulls?before=50000", "/pulls?kind=proof", "/pulls?cell=River-1&date=2024-05-03", "/pulls?item=1", "/pulls?vehicle=4&kind=proof"},
	"GET /pulls/{id}":                   {"/pulls/100000", "/pulls/50000"},
	"GET /pulls/{id}/over":              {"/pulls/100000/over", "/pulls/100000/over?with=50000&align=peak"},
	"GET /api/pulls/{id}/over":          {"/api/pulls/100000/over?with=50000"},
	"GET /pulls/{id}/result":            {"/pulls/100000/result"},
	"GET /pulls/{id}/review":            {"/pulls/100000/review?at=0.3s"},
	"GET /days/{date}/added":            {"/days/2026-03-14/added?cell=River-1&start=10:00:00&end=10:00:01"},
	"GET /pulls/{id}/limits":            {"/pulls/100000/limits?start=-0.1s&end=1s"},
	"GET /api/pulls":                    {"/api/pulls", "/api/pulls?limit=1000"},
	"GET /api/pulls/{id}":               {"/api/pulls/100000"},
	"GET /api/pulls/{id}/trace":         {"/api/pulls/100000/trace"},
	"GET /plan":                         {"/plan"},
	"GET /plan/{kind}":                  {"/plan/kinetic", "/plan/steady", "/plan/force", "/plan/kinetic?" + kineticPlan.Encode(), "/plan/steady?rig=rig+0005&surface=gravel&mire=wheel", "/plan/force?rig=rig+0005&force=30+kN"},
	"GET /plan/kept/{id}":               {"/plan/kept/1"},
	"GET /api/rigs/fills":               {"/api/rigs/fills?name=rig+0005"},
	"GET /multipliers":                  {"/multipliers", "/multipliers?set=log", "/multipliers?set=river+bar@5", "/multipliers?set=handbook@1", "/multipliers?set=rule+of+thumb@0", "/multipliers?assume=3", "/multipliers?set=log&assume=3&kind=kinetic&ground=mud", "/multipliers?set=log&only-cell=River-1&by-item=yes"},
	"GET /multipliers/next":             {"/multipliers/next", "/multipliers/next?limit=60+kN", "/multipliers/next?limit=60+kN&ground=mud&strap=kinetic+rope&speed=8+km%2Fh"},
	"GET /api/multipliers/speed":        {"/api/multipliers/speed", "/api/multipliers/speed?set=log&strap=kinetic+rope", "/api/multipliers/speed?set=handbook@1"},
	"GET /api/multipliers/residuals":    {"/api/multipliers/residuals", "/api/multipliers/residuals?set=log"},
	"GET /api/multipliers/classes":      {"/api/multipliers/classes", "/api/multipliers/classes?set=log", "/api/multipliers/classes?set=river+bar@5"},
	"GET /api/multipliers/classes.csv":  {"/api/multipliers/classes.csv"},
	"GET /gear":                         {"/gear", "/gear?after=i05000", "/gear?text=strap+77", "/gear?text=river+nothing", "/gear?kind=soft+shackle", "/gear?show=trouble", "/gear?show=retired", "/gear?show=removed"},
	"GET /gear/new":                     {"/gear/new"},
	"GET /gear/labels":                  {"/gear/labels", "/gear/labels?text=strap+77"},
	"GET /gear/{id}":                    {"/gear/1", "/gear/8", "/gear/9999"},
	"GET /gear/{id}/edit":               {"/gear/1/edit"},
	"GET /pictures/{hash}":              {"/pictures/<picture>"},
	"GET /vehicles":                     {"/vehicles", "/vehicles?text=truck+07"},
	"GET /vehicles/new":                 {"/vehicles/new"},
	"GET /vehicles/{id}":                {"/vehicles/4"},
	"GET /vehicles/{id}/edit":           {"/vehicles/4/edit"},
	"GET /rigs":                         {"/rigs", "/rigs?text=truck+rig+077", "/rigs?after=rig+0500"},
	"GET /rigs/{id}":                    {"/rigs/1"},
	"GET /rigs/new":                     {"/rigs/new", "/rigs/new?from=1"},
	"GET /rigs/{id}/edit":               {"/rigs/1/edit"},
	"GET /rigs/{id}/text":               {"/rigs/1/text"},
	"GET /sign-in":                      {"/sign-in"},
	"GET /in/{pass}":                    {"/in/<pass>"},
	"GET /guide":                        {"/guide"},
	"GET /guide/{picture}":              {"/guide/the-line.png"},
	"GET /people":                       {"/people"},
	"GET /files":                        {"/files"},
	"GET /files/trace":                  {"/files/trace"},
	"GET /rigs/first":                   {"/rigs/first"},
	"GET /kept":                         {"/kept"},
	"GET /cells/{name}/state":           {"/cells/River-1/state"},
	"GET /cells/{name}/facts":           {"/cells/River-1/facts"},
	"GET /cells/{name}/table":           {"/cells/River-1/table"},
	"GET /kept/archive":                 {"/kept/archive"},
}

// clubDownloads are routes whose answer is a file to keep, or never ends: no
// page waits for them. They are asked once and timed beside the pages.
var clubDownloads = map[string][]string{
	"GET /api/live":                   nil, // ends with the browser that listens
	"GET /cells/new/heard":            nil, // there after somebody has listened; it asks the store for nothing
	"GET /cells/new/progress":         nil, // the same
	"GET /api/multipliers":            {"/api/multipliers"},
	"GET /api/multipliers/pulls.csv":  {"/api/multipliers/pulls.csv"},
	"GET /multipliers/figures/{kind}": {"/multipliers/figures/speed?set=log&as=svg", "/multipliers/figures/classes?set=log&as=png"},
	"GET /days/{date}/{file}":         {"/days/2024-05-03/pulls.csv", "/days/2026-03-14/readings.csv?cell=River-1", "/days/2024-05-03/report.html", "/days/2024-05-03/report.pdf"},
	"GET /files/{file}":               {"/files/gear.csv", "/files/vehicles.csv", "/files/rigs.csv", "/files/register.json", "/files/pulls.csv"},
	"GET /pulls/{id}/{file}":          {"/pulls/100000/report.html", "/pulls/100000/report.pdf"},
}

// TestEveryPageIsMeasured finds every route that can be read in one of the
// lists, and every address in a list answered by the route it stands at.
func TestEveryPageIsMeasured(t *testing.T) {
	t.Parallel()
	mux, known := http.NewServeMux(), map[string]bool{}
	for _, rt := range web.Routes() {
		if rt.Writes || rt.Chooses {
			continue
		}
		known[rt.Pattern] = true
		mux.HandleFunc(rt.Pattern, func(http.ResponseWriter, *http.Request) {})
		_, page := clubTargets[rt.Pattern]
		_, file := clubDownloads[rt.Pattern]
		assert.True(t, page != file, "%s must be among the pages that are measured over a large club, or among its downloads", rt.Pattern)
	}
	for _, list := range []map[string][]string{clubTargets, clubDownloads} {
		for pattern, targets := range list {
			assert.True(t, known[pattern], "%s is measured and no route", pattern)
			for _, target := range targets {
				r, err := http.NewRequest("GET", "http://localhost"+strings.NewReplacer("<asset>", "/assets/v/app.js").Replace(target), nil)
				require.NoError(t, err)
				_, answers := mux.Handler(r)
				assert.Equal(t, pattern, answers, target)
			}
		}
	}
}

// clubNames fills in what only the store and its pages know.
func clubNames(b *testing.B, f *fixture) *strings.Replacer {
	b.Helper()
	ctx := b.Context()
	picture, err := f.store.Attach(ctx, bytes.NewReader(picture(b)))
	require.NoError(b, err)
	all, err := f.store.People(ctx)
	require.NoError(b, err)
	d := people.NewDesk(f.store, clubNow)
	if len(all) == 0 {
		p, err := d.Add(ctx, "Mira", people.Operator, "")
		require.NoError(b, err)
		all = append(all, p)
	}
	pass, err := d.Pass(ctx, all[0].ID)
	require.NoError(b, err)
	asset := regexp.MustCompile(`/assets/[^"]+\.js`).FindString(f.page(b, "/gear/new"))
	require.NotEmpty(b, asset)
	days, err := f.store.Days(ctx)
	require.NoError(b, err)
	from := start.UnixNano()
	return strings.NewReplacer("<day>", fmt.Sprint(days[0].ID), "<asset>", asset, "<picture>", picture.Hash, "<pass>", pass, "<from>", fmt.Sprint(from), "<to>", fmt.Sprint(from+10e9))
}

// tell writes beside the lines of the benchmark.
func tell(format string, args ...any) { fmt.Printf("# "+format+"\n", args...) }

// timing is how long an address took.
type timing struct {
	target      string
	first, next time.Duration
	bytes       int
}

func milliseconds(d time.Duration) float64 { return float64(d.Microseconds()) / 1000 }

// BenchmarkPages asks every address that can be read over a register of 10 000
// items and 1 000 rigs and a log of 100 000 pulls: the first time after a start,
// and then again. Directory TAUTLOG_CLUB keeps the store for the next run.
func BenchmarkPages(b *testing.B) {
	s := clubIn(b)
	began := time.Now()
	f := clubRuns(b, s)
	for _, target := range []string{"/gear", "/line", "/", "/multipliers", "/multipliers?set=log", "/plan/kinetic?" + kineticPlan.Encode()} {
		asked := time.Now()
		f.page(b, target)
		tell("asked at once after the start: %8.1f ms  %s", milliseconds(time.Since(asked)), target)
	}
	for _, target := range []string{"/plan/kinetic?" + kineticPlan.Encode(), "/multipliers?set=log", "/multipliers/next?limit=60+kN", "/multipliers/next?limit=60+kN&ground=mud&strap=kinetic+rope&speed=8+km%2Fh"} {
		for strings.Contains(f.page(b, target), "being worked out") {
			time.Sleep(200 * time.Millisecond) // a person who looks again and again
		}
		tell("worked out %.1f s after the start: %s", time.Since(began).Seconds(), target)
	}
	var m runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&m)
	tell("memory in use: %d MiB, from the system: %d MiB", m.HeapAlloc>>20, m.Sys>>20)
	names := clubNames(b, f)
	var all []timing
	for _, pattern := range slices.Sorted(maps.Keys(clubTargets)) {
		for _, target := range clubTargets[pattern] {
			all = append(all, measurePage(b, f, names.Replace(target), pattern+" "+target))
		}
	}
	tellTimings(b, all)
	for pattern, targets := range clubDownloads {
		for _, target := range targets {
			began := time.Now()
			n := len(f.page(b, target))
			tell("download: %8.1f ms %9d bytes  %s (%s)", milliseconds(time.Since(began)), n, target, pattern)
		}
	}
}

func measurePage(b *testing.B, f *fixture, target, name string) timing {
	t := timing{target: target}
	b.Run(url.PathEscape(name), func(b *testing.B) {
		if t.first == 0 {
			began := time.Now()
			t.bytes = len(f.page(b, target))
			t.first = time.Since(began)
		}
		for b.Loop() {
			f.page(b, target)
		}
		t.next = b.Elapsed() / time.Duration(b.N)
		b.ReportMetric(milliseconds(t.next), "ms/op")
		b.ReportMetric(milliseconds(t.first), "ms-first")
	})
	return t
}

// tellTimings tells the slowest pages, and the one in the middle.
func tellTimings(b *testing.B, all []timing) {
	b.Helper()
	for _, by := range []struct {
		name string
		of   func(timing) time.Duration
	}{{"first after a start", func(t timing) time.Duration { return t.first }}, {"again", func(t timing) time.Duration { return t.next }}} {
		slices.SortFunc(all, func(x, y timing) int { return int(by.of(y) - by.of(x)) })
		tell("%d addresses, %s: median %.1f ms, slowest:", len(all), by.name, milliseconds(by.of(all[len(all)/2])))
		for _, t := range all[:min(len(all), 12)] {
			tell("%10.1f ms %9d bytes  %s", milliseconds(by.of(t)), t.bytes, t.target)
		}
	}
}
