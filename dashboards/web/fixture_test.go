package web_test

import (
	"io"
	"math"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/dashboards/bound"
	"tautlog/dashboards/web"
	"tautlog/ingest/store"

	"tautlog/calc/calibrate"
)

// start is when the readings of the fixture begin: a fixed moment, so that
// every page says the same on every run.
var start = time.Date(2026, 3, 14, 10, 0, 0, 0, time.UTC)

// fixture is a real store with one cell, a rig, ten seconds of readings and a
// pull in them, and the pages over it.
type fixture struct {
	store *store.Store
	pages http.Handler
	cell  store.Cell
	rig   store.Document[rig.Rig]
	pull  store.Pull
}

func newFixture(t *testing.T) *fixture {
	t.Helper()
	ctx := t.Context()
	s, err := store.Open(t.TempDir(), store.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	f := &fixture{store: s}
	f.cell, err = s.SaveCell(ctx, store.Cell{Name: "River-1", Curve: calibrate.Curve{Coefficients: []float64{0, 1}}, Capacity: 100_000, Rate: 1000})
	require.NoError(t, err)
	f.rig, err = s.SaveRig(ctx, store.Document[rig.Rig]{Value: strapRig()})
	require.NoError(t, err)
	for _, l := range strapRig().Chain {
		_, err = s.SaveItem(ctx, store.Document[gear.Item]{Value: l.Use.Item})
		require.NoError(t, err)
	}
	require.NoError(t, s.Append(ctx, []store.Run{{Cell: f.cell.ID, Start: start.UnixNano(), Step: 1e6, Raw: pulse()}}))
	f.pull, err = s.SavePull(ctx, store.Pull{Cell: f.cell.ID, Found: found(), Rig: &f.rig.Value, Ground: "wet sand", Settled: true})
	require.NoError(t, err)
	f.pages, err = web.New(web.Config{Store: s, Zone: time.UTC, Demo: true, Now: func() time.Time { return start.Add(time.Minute) }})
	require.NoError(t, err)
	return f
}

// pulse is ten seconds at 1 kHz: quiet, a half sine of 40 kN that lasts a
// second from 4 s on, quiet again. One count is one newton.
func pulse() []int64 {
	raw := make([]int64, 10_000)
	for i := 4000; i < 5000; i++ {
		raw[i] = int64(math.Round(40_000 * math.Sin(math.Pi*float64(i-4000)/1000)))
	}
	return raw
}

func found() pull.Pull {
	at := func(ms int64) int64 { return start.UnixNano() + ms*1e6 }
	return pull.Pull{
		Start: at(4000), End: at(5000), Kind: pull.Kinetic, Peak: 40_000, PeakAt: at(4500), PeakLow: 39_800, PeakHigh: 40_900,
		PeakReading: 40_000, PeakFiltered: 39_990, Filter: "CFC 60", RiseTime: 0.324, RiseFrom: at(4032), RiseRate: 98_800, MaxRise: 125_600,
		RiseTime95: 0.012, RiseRate95: 4_100, Impulse95: 260,
		ToPeak: 12_732, Impulse: 25_465, AboveHalf: 0.667, Samples: 1000, Rate: 1000, Noise: 12, Zero: 0.004,
		Flags: []string{pull.FlagSpikes}, Remarks: []string{"One reading was left out as an electrical spike."},
		Terms: []pull.Term{{Name: "noise", Low: 24, High: 24}, {Name: "sampling", High: 880, Note: "from the shape around the peak"}, {Name: "lag", Note: "not known"}},
	}
}

func strapRig() rig.Rig {
	gvm := unit.Mass(2800)
	straight := unit.Degrees(0)
	of := func(id, name string, k gear.Kind, b gear.Basis, kN float64) rig.Link {
		l := rig.InLine(gear.Item{ID: id, Name: name, Kind: k, Ratings: []gear.Rating{{Value: unit.Force(kN * 1000), Basis: b, Direction: gear.Direction{Rule: gear.AnyDirection}}}})
		if k.Fixed() {
			l.OffAxis = &rig.OffAxis{Horizontal: &straight, Vertical: &straight}
		}
		return l
	}
	strap, long := of("b9", "blue strap 9 m", gear.RecoveryStrap, gear.MBS, 80), unit.Length(9)
	strap.Use.Item.Length = &long
	return rig.Rig{
		Name: "single strap", Pulling: gear.Vehicle{Name: "Heron", GVM: &gvm}, Stuck: gear.Vehicle{Name: "Otter", GVM: &gvm},
		Chain: []rig.Link{
			of("p1", "rear point", gear.RecoveryPoint, gear.WLL, 50), of("s12", "bow shackle 12", gear.BowShackle, gear.WLL, 46.6),
			of("c1", "River-1", gear.LoadCell, gear.WLL, 100), strap,
			of("s13", "bow shackle 13", gear.BowShackle, gear.WLL, 31.9), of("p2", "front <b>point</b>", gear.RecoveryPoint, gear.WLL, 50),
		},
	}
}

// ask sends one request as a browser on this machine would.
func (f *fixture) ask(method, target string, form url.Values, change func(*http.Request)) *http.Response {
	var body io.Reader
	if form != nil {
		body = strings.NewReader(form.Encode())
	}
	r := httptest.NewRequest(method, "http://localhost:8080"+target, body)
	r.RemoteAddr = "127.0.0.1:50000"
	if form != nil {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	if change != nil {
		change(r)
	}
	w := httptest.NewRecorder()
	f.pages.ServeHTTP(w, r)
	return w.Result()
}

// page gets a page and its text.
func (f *fixture) page(t testing.TB, target string) string {
	t.Helper()
	res := f.ask("GET", target, nil, nil)
	text := read(t, res)
	require.Equal(t, http.StatusOK, res.StatusCode, "%s: %s", target, text)
	return text
}

// read is an answer, with plain spaces where a page keeps a number and its unit
// on one line.
func read(t testing.TB, res *http.Response) string {
	t.Helper()
	b, err := io.ReadAll(res.Body)
	require.NoError(t, err)
	return strings.ReplaceAll(string(b), bound.Space, " ")
}

// token is the one that the forms of the pages carry.
func (f *fixture) token(t testing.TB) string {
	t.Helper()
	_, rest, ok := strings.Cut(f.page(t, "/"), `name="token" value="`)
	require.True(t, ok)
	token, _, _ := strings.Cut(rest, `"`)
	return token
}
