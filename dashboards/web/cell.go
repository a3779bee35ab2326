package web

import (
	"context"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"time"

	"tautlog/calc/calibrate"
	"tautlog/calc/unit"
	"tautlog/ingest/derive"
	"tautlog/ingest/store"
)

// cellRoutes are the pages of cells and their calibration.
func (s *server) cellRoutes() []route {
	return []route{
		reads("GET /cells", s.cells),
		reads("GET /cells/{name}", s.cell),
		reads("GET /cells/{name}/steady", s.cellSteady),
		reads("GET /cells/{name}/state", s.cellState),
		reads("GET /cells/{name}/facts", s.cellFacts),
		writes("POST /cells/{name}/zero", s.zeroCell),
		writes("POST /cells/{name}/check", s.checkCell),
		writes("POST /cells/{name}/again", s.measureAgain),
		writes("POST /cells/{name}/undo", s.undoOfCell),
		writes("POST /cells/{name}/use", s.useCalibration),
		reads("GET /cells/{name}/points", s.points),
		writes("POST /cells/{name}/points", s.takePoint),
		writes("POST /cells/{name}/points/undo", s.undoPoint),
		writes("POST /cells/{name}/points/keep", s.keepPoints),
		reads("GET /cells/{name}/table", s.table).toOperators(),
		writes("POST /cells/{name}/table", s.tableSent).withFiles(maxTable),
		reads("GET /api/cells/{name}/calibration", s.apiCalibration),
	}
}

// listedActs is how many checks and zeros the page of a cell lists.
const listedActs = 10

// cellPage is the page of one cell.
type cellPage struct {
	cellView
	Path     string
	Facts    []fact
	Fit      []fact // how its curve was fitted
	Figure   *figure
	Points   []pointRow
	Stale    int
	Work     *workView
	Kept     []actView // calibrations
	Checks   []actView
	Zeros    []actView
	Taking   int // points of a calibration that is being taken
	Load     []entry
	LoadOpen bool // its form is unfolded
	Refused  string
	Now      string
	Live     bool
	Who      string
	Token    string
}

// actView is something that was done to a cell, and can be taken back.
type actView struct {
	Says    string
	More    []string
	Fault   bool
	Undo    int64  // the change that its button takes back
	Button  string // what the button says
	Number  int    // of a calibration that can be chosen again; 0: it cannot
	Removed bool
}

// cellNamed is the cell of an address like /cells/River-1, with how its
// readings become force.
func (s *server) cellNamed(r *http.Request) (derive.Cell, error) {
	c, err := s.Store.CellByName(r.Context(), r.PathValue("name"))
	if err != nil {
		return derive.Cell{}, err
	}
	return derive.Of(r.Context(), s.Store, c)
}

func cellPath(name string) string { return "/cells/" + url.PathEscape(name) }

func (s *server) cell(w http.ResponseWriter, r *http.Request) error {
	c, err := s.cellNamed(r)
	if err != nil {
		return err
	}
	return s.showCell(w, r, c, newSheet(url.Values{}), "")
}

// showCell shows the page of a cell with a form as it was filled in, and why
// something was not done.
func (s *server) showCell(w http.ResponseWriter, r *http.Request, c derive.Cell, form *sheet, refused string) error {
	ctx, u := r.Context(), chosen(r).Unit
	view, err := s.cellView(ctx, c, u)
	if err != nil {
		return err
	}
	v := cellPage{cellView: view, Path: cellPath(c.Name), Refused: refused, Live: s.Recorder != nil, Who: signature(r), Token: s.tokenIn(r.Context()), Load: checkForm(form.in(u)), LoadOpen: !form.good() || form.typed("load") != ""}
	now := c.History.At(s.Now().UnixNano())
	v.Facts = inForceFacts(c, now, u)
	if now.Kept != nil && now.Kept.Fit != nil {
		v.Fit = fitFacts(*now.Kept.Fit, u)
	}
	if now.Kept != nil && len(now.Kept.Points) > 0 {
		v.Figure = &figure{"calibration", "/api" + v.Path + "/calibration", text("figure.calibration")}
		v.Points = pointRows(now.Kept.Points, now.Kept.Curve, u)
	}
	stale, err := derive.Stale(ctx, s.Store, c)
	if err != nil {
		return err
	}
	v.Stale, v.Work = len(stale), s.workToday(c.ID, u)
	draft, err := s.Store.Draft(ctx, c.ID)
	if err != nil {
		return err
	}
	v.Taking = len(draft.Points)
	if err := s.acts(ctx, &v, c, now, u); err != nil {
		return err
	}
	if v.Now, err = s.steadyNow(ctx, c, u); err != nil {
		return err
	}
	return s.show(w, r, "cell", c.Name, v)
}

// acts lists what was done to the cell, the latest first.
func (s *server) acts(ctx context.Context, v *cellPage, c derive.Cell, now *calibrate.InForce, u unit.ForceUnit) error {
	kept, err := s.Store.Calibrations(ctx, c.ID)
	if err != nil {
		return err
	}
	for i := len(kept) - 1; i >= 0; i-- {
		a, err := s.act(ctx, "calibration", kept[i].ID, "cell.outofforce", "cell.intoforce", !kept[i].Removed.IsZero())
		if err != nil {
			return err
		}
		a.Says, a.More = s.keptSays(kept[i], now), keptMore(kept[i], u)
		if kept[i].Number != now.Number() {
			a.Number = kept[i].Number
		}
		v.Kept = append(v.Kept, a)
	}
	checks, err := s.Store.Checks(ctx, c.ID)
	if err != nil {
		return err
	}
	for _, k := range checks[:min(len(checks), listedActs)] {
		a, err := s.act(ctx, "check", k.ID, "cell.takeaway", "", false)
		if err != nil {
			return err
		}
		a.Says, a.Fault = text("cell.acted", s.at(k.At), k.Who, k.Says(u)), k.Fault()
		v.Checks = append(v.Checks, a)
	}
	if len(checks) > 0 && checks[0].Fault() && s.Now().UnixNano()-checks[0].At < (24*time.Hour).Nanoseconds() {
		v.Alarms = append(v.Alarms, checks[0].Says(u))
	}
	zeros, err := s.Store.Zeros(ctx, c.ID)
	if err != nil {
		return err
	}
	for i := len(zeros) - 1; i >= max(0, len(zeros)-listedActs); i-- {
		a, err := s.act(ctx, "zero", zeros[i].ID, "cell.takeback", "cell.again", !zeros[i].Removed.IsZero())
		if err != nil {
			return err
		}
		a.Says = text("cell.acted", s.at(zeros[i].At), zeros[i].Who, zeroSays(c, zeros[i].Zero, u))
		v.Zeros = append(v.Zeros, a)
	}
	return nil
}

// act finds the change that the button of a document takes back: that it was
// made, or that it was removed.
func (s *server) act(ctx context.Context, what string, ref int64, there, gone string, removed bool) (actView, error) {
	a := actView{Removed: removed, Button: text(there)}
	if removed {
		a.Button = text(gone)
	}
	latest, err := s.Store.Changes(ctx, store.JournalFilter{What: what, Ref: ref, Limit: 1})
	if err == nil && len(latest) > 0 {
		a.Undo = latest[0].ID
	}
	return a, err
}

// steadyNow tells how the cell hangs just now.
func (s *server) steadyNow(ctx context.Context, c derive.Cell, u unit.ForceUnit) (string, error) {
	got, err := derive.Steady(ctx, s.Store, c, s.Now(), math.MinInt64)
	switch {
	case err != nil:
		return "", err
	case got.Count == 0:
		return sentence(got.Why), nil
	}
	force := c.History.At(got.To).Curve.Force(got.Mean).Show(u, lastDigit(c.Cell)/10)
	if got.Steady {
		return text("steady.is", levelText(got), force, got.Why), nil
	}
	return text("steady.reads", levelText(got), force, got.Why), nil
}

// levelText is the mean of readings, to a tenth of what they scatter by.
func levelText(s calibrate.Steadiness) string {
	decimals := 1 - int(math.Floor(math.Log10(max(s.SD, 0.1))))
	step := math.Pow10(-decimals)
	return strconv.FormatFloat(math.Round(s.Mean/step)*step, 'f', max(0, decimals), 64)
}

// cellSteady is how the cell hangs, for a page that is open.
func (s *server) cellSteady(w http.ResponseWriter, r *http.Request) error {
	c, err := s.cellNamed(r)
	if err != nil {
		return err
	}
	now, err := s.steadyNow(r.Context(), c, chosen(r).Unit)
	if err != nil {
		return err
	}
	return s.fragment(w, r, "cell", "steady-now", now)
}

// cellState is how the cell is doing, for a page that is open.
func (s *server) cellState(w http.ResponseWriter, r *http.Request) error {
	return s.partOfCell(w, r, "cell-state")
}

// cellFacts is what the cell is and what was taken of it, for a page that is
// open.
func (s *server) cellFacts(w http.ResponseWriter, r *http.Request) error {
	return s.partOfCell(w, r, "cell-facts")
}

func (s *server) partOfCell(w http.ResponseWriter, r *http.Request, part string) error {
	c, err := s.cellNamed(r)
	if err != nil {
		return err
	}
	v, err := s.cellView(r.Context(), c, chosen(r).Unit)
	if err != nil {
		return err
	}
	return s.fragment(w, r, "cell", part, v)
}

// apiCalibration is the points of the calibration in force: how far each lies
// from the curve, and the 95 % interval of a force by it.
func (s *server) apiCalibration(w http.ResponseWriter, r *http.Request) error {
	c, err := s.cellNamed(r)
	if err != nil {
		return err
	}
	now := c.History.At(s.Now().UnixNano())
	if now.Kept == nil || len(now.Kept.Points) == 0 {
		return refuse(http.StatusNotFound, text("cell.nopoints"))
	}
	u := chosen(r).Unit
	type pointJSON struct {
		Name     string  `json:"name"`
		Force    float64 `json:"force"`
		Residual float64 `json:"residual"`
		Run      int     `json:"run"`
	}
	type bandJSON struct {
		Force float64 `json:"force"`
		Half  float64 `json:"half_95"`
	}
	runs := map[string]int{}
	points := []pointJSON{}
	for _, p := range now.Kept.Points {
		if _, ok := runs[p.Run]; !ok {
			runs[p.Run] = len(runs)
		}
		off := p.Force - now.Kept.Curve.Force(p.Reading)
		points = append(points, pointJSON{text("cell.point", p.Force.Show(u, 0), p.Reading, offBy(off, u)), p.Force.In(u), float64(off), runs[p.Run]})
	}
	band := []bandJSON{}
	const steps = 40
	_, high, _ := now.Kept.Forces()
	for i := range steps + 1 {
		f := high * unit.Force(i) / steps
		if half, ok := now.Half95(f - now.Off()); ok {
			band = append(band, bandJSON{f.In(u), float64(half)})
		}
	}
	writeJSON(w, http.StatusOK, map[string]any{"unit": u, "points": points, "band": band, "says": text("chart.calibration")})
	return nil
}
