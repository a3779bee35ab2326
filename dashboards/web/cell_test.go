package web_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/calibrate"
	"tautlog/calc/unit"
	"tautlog/dashboards/web"
	"tautlog/ingest/store"
)

// weighed is the fixture with a clock, and a cell that reads what is said.
type weighed struct {
	*fixture
	now time.Time
}

func newWeighed(t *testing.T) *weighed {
	t.Helper()
	w := &weighed{fixture: newFixture(t), now: start.Add(time.Minute)}
	var err error
	w.pages, err = web.New(web.Config{Store: w.store, Zone: time.UTC, Now: func() time.Time { return w.now }})
	require.NoError(t, err)
	return w
}

// hang has the cell read a level for the four seconds up to now, which it rises
// by so many counts.
func (w *weighed) hang(t *testing.T, level, rises float64) {
	t.Helper()
	const n = 400
	w.now = w.now.Add(10 * time.Second)
	run := store.Run{Cell: w.cell.ID, Start: w.now.Add(-4 * time.Second).UnixNano(), Step: 1e7}
	for i := range n {
		run.Raw = append(run.Raw, int64(level+rises*float64(i)/n)+int64(i*7%5)-2)
	}
	require.NoError(t, w.store.Append(t.Context(), []store.Run{run}))
}

// send sends a form and gives the page that follows.
func (w *weighed) send(t *testing.T, path string, pairs ...string) string {
	t.Helper()
	form := url.Values{"token": {w.token(t)}, "who": {"A. Keeper"}}
	if strings.Contains(path, "/points/") {
		form.Set("version", w.version(t))
	}
	for i := 0; i < len(pairs); i += 2 {
		form.Set(pairs[i], pairs[i+1])
	}
	res := w.ask("POST", path, form, nil)
	if res.StatusCode == http.StatusSeeOther {
		to, _, _ := strings.Cut(res.Header.Get("Location"), "#")
		return w.page(t, to)
	}
	return read(t, res)
}

// version is that of the points that were taken.
func (w *weighed) version(t *testing.T) string {
	t.Helper()
	d, err := w.store.Draft(t.Context(), w.cell.ID)
	require.NoError(t, err)
	return fmt.Sprint(d.Version)
}

// undo presses the first button of those words on the page of the cell.
func (w *weighed) undo(t *testing.T, button string) string {
	t.Helper()
	found := regexp.MustCompile(`name="change" value="(\d+)"><button>` + button + `<`).FindStringSubmatch(w.page(t, "/cells/River-1"))
	require.NotNil(t, found, button)
	return w.send(t, "/cells/River-1/undo", "change", found[1])
}

// Points are taken one by one, one is taken back, the fit is shown as it grows
// with the reason for its degree, and what is kept is in force with its certificate.
func TestPointsOnThePages(t *testing.T) {
	t.Parallel()
	w := newWeighed(t)
	assert.Contains(t, w.page(t, "/cells/River-1"), "No calibration is kept.")
	page := w.send(t, "/cells/River-1/points", "force", "0 kN")
	assert.NotContains(t, page, "cannot be fitted", "before the first point")
	assert.Contains(t, page, "No reading of cell River-1 came in the last two seconds")
	w.hang(t, 0, 0)
	page = w.send(t, "/cells/River-1/points", "force", "five")
	assert.Contains(t, page, `aria-invalid="true"`)
	assert.Contains(t, w.send(t, "/cells/River-1/points", "force", "0 kN", "run", "1"), "<td>0 kN</td><td>0")
	assert.Contains(t, w.send(t, "/cells/River-1/points", "force", "5 kN", "run", "1"), "was the load changed?")
	w.hang(t, 4950, 80)
	assert.Contains(t, w.send(t, "/cells/River-1/points", "force", "5 kN", "run", "1"), "Nothing was taken: it drifts: by")
	for _, kN := range []string{"5", "10", "15", "20"} {
		w.hang(t, 990*map[string]float64{"5": 5, "10": 10, "15": 15, "20": 20}[kN], 0)
		page = w.send(t, "/cells/River-1/points", "force", kN+" kN", "run", "1")
		assert.Contains(t, page, "<td>"+kN)
	}
	assert.Contains(t, page, "A curve of degree 1 through 5 points.")
	assert.Contains(t, page, "The degree is proposed: a straight line")
	for _, path := range []string{"undo", "keep"} {
		page = w.send(t, "/cells/River-1/points/"+path, "version", "1", "note", "typed before")
		assert.Contains(t, page, "Somebody else took a point, or one back, while you looked at this.")
		assert.Contains(t, page, "<td>20 kN</td>", "nothing was taken back")
	}
	assert.Contains(t, page, `value="typed before"`)
	assert.NotContains(t, w.send(t, "/cells/River-1/points/undo"), "<td>20 kN</td>")
	assert.Contains(t, w.send(t, "/cells/River-1/points", "force", "20 kN", "run", "1"), "<td>20 kN</td>")

	assert.Contains(t, w.send(t, "/cells/River-1/points/keep", "stated", "0.1%"), "A certificate has a number.")
	page = w.send(t, "/cells/River-1/points/keep", "number", "LF-7", "expires", "2026-03-30", "stated", "0.1%", "from", "2026-03-14")
	assert.Contains(t, page, "In force: calibration 1, certificate LF-7. A force of 10.0")
	assert.Contains(t, page, "The certificate LF-7 holds until 30 March 2026: 16 days more.")
	assert.Contains(t, page, "Take points under known loads", "nothing is left of the draft")
}

// A calibration that comes later says which pulls are to be measured again, and a
// button does it; it can be taken out of force, brought back and chosen again.
func TestCalibrationsOnThePages(t *testing.T) {
	t.Parallel()
	w := newWeighed(t)
	_, err := w.store.SaveCalibration(t.Context(), store.Calibration{Cell: w.cell.ID, Kept: calibrate.Kept{
		From: "2026-01-01T00:00:00Z", Curve: calibrate.Curve{Coefficients: []float64{0, 1.1}},
		Certificate: &calibrate.Certificate{Number: "LF-1", Expires: "2026-03-01", Relative95: 0.01},
	}})
	require.NoError(t, err)
	page := w.page(t, "/cells/River-1")
	assert.Contains(t, page, "The certificate LF-1 held until 1 March 2026.")
	assert.Contains(t, page, "One pull was measured by what is no longer in force.")
	assert.Contains(t, w.page(t, "/cells"), "In force: calibration 1, certificate LF-1.")
	assert.NotContains(t, w.send(t, "/cells/River-1/again"), "no longer in force")
	p, err := w.store.Pull(t.Context(), w.pull.ID)
	require.NoError(t, err)
	assert.InDelta(t, 44e3, float64(p.Found.Peak), 50)
	assert.Contains(t, p.Found.Flags, "calibration expired")
	assert.Contains(t, w.page(t, "/pulls/1"), "The certificate of cell River-1, LF-1, held until 2026-03-01.")

	assert.Contains(t, w.undo(t, "Take out of force"), "No calibration is kept.")
	assert.Contains(t, w.undo(t, "Bring it back"), "In force: calibration 1")
	assert.Contains(t, w.send(t, "/cells/River-1/use", "number", "1"), "In force: calibration 2, certificate LF-1")
	assert.Equal(t, http.StatusNotFound, w.ask("POST", "/cells/River-1/undo", url.Values{"token": {w.token(t)}, "change": {"1"}}, nil).StatusCode)
}

// The slack line is checked against the calibration, set to zero, and both are
// taken back; a zero does not hide the fault.
func TestChecksAndZerosOnThePages(t *testing.T) {
	t.Parallel()
	w := newWeighed(t)
	_, err := w.store.SaveCalibration(t.Context(), store.Calibration{Cell: w.cell.ID, Kept: calibrate.Kept{
		From: "2026-01-01T00:00:00Z", Curve: calibrate.Curve{Coefficients: []float64{0, 1}}, Certificate: &calibrate.Certificate{Number: "LF-1", Absolute95: 50},
	}})
	require.NoError(t, err)
	w.hang(t, 30, 0)
	assert.Contains(t, w.page(t, "/cells/River-1/steady"), "steady over")
	assert.Contains(t, w.send(t, "/cells/River-1/check", "slack", "1"), "Slack, the cell reads 0.030 kN. That is within the ±0.050 kN (95 %) of its calibration.")
	w.hang(t, 10_200, 0)
	both := w.send(t, "/cells/River-1/check", "slack", "1", "load", "10 kN")
	assert.Contains(t, both, "The line is said to be slack, and a load is written here.")
	assert.Equal(t, 1, strings.Count(both, `name="who"`), "who it is is asked once")
	assert.Contains(t, w.send(t, "/cells/River-1/check", "load", "10 kN"), "Under 10.000 kN the cell reads 10.170 kN, off by 0.170 kN. That is beyond")
	checks, err := w.store.Checks(t.Context(), w.cell.ID)
	require.NoError(t, err)
	assert.Len(t, checks, 2, "none of what could be both")
	page := w.send(t, "/cells/River-1/zero", "kind", "tare", "back", "line")
	assert.Contains(t, page, "tare set: 10.20 kN of gear is taken off, sent as 10200.")
	w.hang(t, 10_200, 0)
	assert.Contains(t, w.page(t, "/cells/River-1/steady"), "The cell reads 0.00 kN, sent as 10200")
	assert.Contains(t, w.undo(t, "Undo this"), "<s>14 March 2026")
	assert.Contains(t, w.page(t, "/line"), "No zero was set.")
	w.hang(t, 0, 500)
	assert.Contains(t, w.send(t, "/cells/River-1/zero", "kind", "zero"), "Nothing was taken: it drifts")
}

// What the chart draws: every point, and an interval around the curve.
func TestCalibrationChart(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	assert.Equal(t, http.StatusNotFound, f.ask("GET", "/api/cells/River-1/calibration", nil, nil).StatusCode)
	fit := f.calibrated(t)
	var chart struct {
		Points []struct {
			Residual float64
			Run      int
		}
		Band []struct {
			Half float64 `json:"half_95"`
		}
	}
	require.NoError(t, json.Unmarshal([]byte(f.page(t, "/api/cells/River-1/calibration")), &chart))
	require.Len(t, chart.Points, 4)
	for i := range fit.Points {
		assert.InDelta(t, float64(fit.Residuals[i]), chart.Points[i].Residual, 1e-6)
	}
	assert.Equal(t, 2, chart.Points[3].Run)
	require.NotEmpty(t, chart.Band)
	assert.InEpsilon(t, float64(fit.Uncertainty95(3000)), chart.Band[len(chart.Band)-1].Half, 1e-3)
}

// calibrated keeps a calibration, a check and a zero of the cell, and two points
// of another calibration.
func (f *fixture) calibrated(t *testing.T) calibrate.Fit {
	t.Helper()
	points := []calibrate.Point{{Reading: 0}, {Reading: 1000, Force: 1002, Run: "1"}, {Reading: 2000, Force: 1999, Run: "1"}, {Reading: 3000, Force: 3000, Run: "2"}}
	fit, err := calibrate.FitCurve(points, 1)
	require.NoError(t, err)
	k := calibrate.Keep(fit, "as asked for", 1)
	k.From, k.Certificate = "2026-01-01T00:00:00Z", &calibrate.Certificate{Number: "LF-7", Expires: "2026-03-20"}
	_, err = f.store.SaveCalibration(t.Context(), store.Calibration{Cell: f.cell.ID, Kept: k})
	require.NoError(t, err)
	half := unit.Force(50)
	_, err = f.store.SaveCheck(t.Context(), store.Check{Cell: f.cell.ID, Check: calibrate.Check{At: start.UnixNano(), Force: 170, Half95: &half}})
	require.NoError(t, err)
	_, err = f.store.SaveZero(t.Context(), store.Zero{Cell: f.cell.ID, Zero: calibrate.Zero{At: start.Add(20 * time.Second).UnixNano(), Kind: calibrate.Slack, Reading: 12}})
	require.NoError(t, err)
	_, err = f.store.SaveDraft(t.Context(), store.Draft{Cell: f.cell.ID, Points: []store.Taken{{Point: points[0]}, {Point: points[1]}, {Point: points[2]}}})
	require.NoError(t, err)
	return fit
}
