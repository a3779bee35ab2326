package web

import (
	"context"
	"errors"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"tautlog/calc/calibrate"
	"tautlog/calc/unit"
	"tautlog/ingest/derive"
	"tautlog/ingest/store"
)

// pointsPage is the page on which the points of a calibration are taken.
type pointsPage struct {
	Cell    string
	Path    string
	Now     string
	Refused string
	Points  []pointRow
	Version int64   // of the points
	Fit     fitView // as far as there is one
	Take    []entry
	Keep    []group
	Who     string
	Token   string
}

func (s *server) points(w http.ResponseWriter, r *http.Request) error {
	c, err := s.cellNamed(r)
	if err != nil {
		return err
	}
	return s.showPoints(w, r, c, newSheet(url.Values{}), "")
}

func (s *server) showPoints(w http.ResponseWriter, r *http.Request, c derive.Cell, form *sheet, refused string) error {
	return s.showPointsAs(w, r, http.StatusOK, c, form, refused)
}

func (s *server) showPointsAs(w http.ResponseWriter, r *http.Request, status int, c derive.Cell, form *sheet, refused string) error {
	d, err := s.Store.Draft(r.Context(), c.ID)
	if err != nil {
		return err
	}
	u := chosen(r).Unit
	form.in(u)
	v := pointsPage{Cell: c.Name, Path: cellPath(c.Name), Refused: refused, Version: d.Version, Who: signature(r), Token: s.tokenIn(r.Context())}
	fit, reason, err := fitted(d.PointsOf(), form)
	curve := calibrate.Curve{}
	switch {
	case errors.Is(err, calibrate.ErrFit):
		v.Fit.Says = sentence(err.Error())
	case err != nil:
		return err
	default:
		curve = fit.Curve
		v.Fit = fitViewOf(fit, reason, 1, u)
	}
	v.Points = pointRows(d.PointsOf(), curve, u)
	if n := len(d.Points); n > 0 {
		form.fill(map[string]string{"run": d.Points[n-1].Run})
	}
	v.Take = form.set(
		entry{Name: "force", Label: text("page.cell.points.force"), HintOf: "page.cell.points.force.hint", Like: []unit.Force{5e3, 0}},
		entry{Name: "run", Label: text("page.cell.points.run"), Hint: text("page.cell.points.run.hint")},
	)
	v.Keep = keepForm(form)
	if v.Now, err = s.steadyNow(r.Context(), c, u); err != nil {
		return err
	}
	return s.showAs(w, r, status, "points", text("points.title", c.Name), v)
}

// fitted fits points by the degree that was chosen, or by the one proposed.
func fitted(points []calibrate.Point, form *sheet) (calibrate.Fit, string, error) {
	if degree, err := strconv.Atoi(form.text("degree")); err == nil {
		fit, err := calibrate.FitCurve(points, degree)
		return fit, text("points.chosen"), err
	}
	fit, reason, err := calibrate.Propose(points)
	return fit, text("points.proposed", reason), err
}

func degreeEntry() entry {
	return entry{Name: "degree", Label: text("page.cell.points.degree"), Choices: []option{{Label: text("page.cell.points.as-proposed")}, {Value: "1", Label: text("page.cell.points.1")}, {Value: "2", Label: "2"}, {Value: "3", Label: "3"}}}
}

// keepForm is the fields with which points are kept as a calibration.
func keepForm(f *sheet) []group {
	return []group{{Title: text("page.cell.points.keep"), Fields: f.set(
		degreeEntry(),
		entry{Name: "from", Label: text("page.cell.points.from"), Hint: text("page.cell.points.from.hint")},
		entry{Name: "note", Label: text("page.cell.points.note"), Long: true},
	)}, {Title: text("page.cell.points.certificate"), More: true, Fields: f.set(
		entry{Name: "number", Label: text("page.cell.points.number")},
		entry{Name: "by", Label: text("page.cell.points.by")},
		entry{Name: "date", Label: text("page.cell.points.date"), Hint: "2026-05-17"},
		entry{Name: "expires", Label: text("page.cell.points.expires"), Hint: "2027-05-17"},
		entry{Name: "range", Label: text("page.cell.points.range"), HintOf: "page.cell.points.range.hint", Like: []unit.Force{5e3, 100e3}},
		entry{Name: "class", Label: text("page.cell.points.class")},
		entry{Name: "stated", Label: text("page.cell.points.stated"), HintOf: "page.cell.points.stated.hint", Like: []unit.Force{50, 20}},
	)}}
}

// takePoint takes the steady level under a known load.
func (s *server) takePoint(w http.ResponseWriter, r *http.Request) error {
	c, got, err := s.steadyAsked(r)
	if err != nil {
		return err
	}
	form := newSheet(r.PostForm)
	known := needed(form, "force", "load", likeForce(5e3, chosen(r).Unit), unit.ParseForce, notBelow)
	if !form.good() {
		return s.showPoints(w, r, c, form, "")
	}
	ctx := s.signed(w, r, "who")
	for range mostTries { // two who take points at once both count
		d, err := s.Store.Draft(r.Context(), c.ID)
		if err != nil {
			return err
		}
		if _, err = c.TakePoint(ctx, s.Store, d, got, known, form.typed("run")); !errors.Is(err, store.ErrConflict) {
			return s.pointsDone(w, r, c, form, err)
		}
	}
	return store.ErrConflict
}

// draftShown is the draft of a cell as a form showed it; false where it is
// another one by now, which is shown then, with the form as it was typed.
func (s *server) draftShown(w http.ResponseWriter, r *http.Request, c derive.Cell, form *sheet) (d store.Draft, same bool, err error) {
	version, err := versionOf(r)
	if err != nil {
		return d, false, err
	}
	d, err = s.Store.Draft(r.Context(), c.ID)
	if err != nil || d.Version == version {
		return d, err == nil, err
	}
	return d, false, s.showPointsAs(w, r, http.StatusConflict, c, form, text("points.moved"))
}

// undoPoint takes the latest point back.
func (s *server) undoPoint(w http.ResponseWriter, r *http.Request) error {
	c, err := s.cellNamed(r)
	if err != nil {
		return err
	}
	d, same, err := s.draftShown(w, r, c, newSheet(url.Values{}))
	if !same {
		return err
	}
	_, err = derive.UndoPoint(s.signed(w, r, "who"), s.Store, d)
	return s.pointsDone(w, r, c, newSheet(url.Values{}), err)
}

func (s *server) pointsDone(w http.ResponseWriter, r *http.Request, c derive.Cell, form *sheet, err error) error {
	if errors.Is(err, derive.ErrNotTaken) {
		return s.showPoints(w, r, c, form, sentence(err.Error()))
	}
	return s.done(w, r, c, err, cellPath(c.Name)+"/points")
}

// keepPoints keeps the points that were taken as a calibration.
func (s *server) keepPoints(w http.ResponseWriter, r *http.Request) error {
	c, err := s.cellNamed(r)
	if err != nil {
		return err
	}
	form := newSheet(r.PostForm)
	d, same, err := s.draftShown(w, r, c, form)
	if !same {
		return err
	}
	fit, reason, err := fitted(d.PointsOf(), form)
	if errors.Is(err, calibrate.ErrFit) {
		return s.showPoints(w, r, c, form, sentence(err.Error()))
	} else if err != nil {
		return err
	}
	ctx := s.signed(w, r, "who")
	if why, err := s.keepFit(ctx, c, form, fit, reason, 1); err != nil || why != "" {
		if err != nil {
			return err
		}
		return s.showPoints(w, r, c, form, why)
	}
	d.Points = nil
	if _, err = s.Store.SaveDraft(ctx, d); errors.Is(err, store.ErrConflict) {
		err = nil // a point was taken in this moment: it stays, with the others
	}
	return s.done(w, r, c, err, cellPath(c.Name))
}

// keepFit keeps a fit as the calibration of a cell, with what a form says of it.
// Where it cannot be kept so it says why, and more beside the fields.
func (s *server) keepFit(ctx context.Context, c derive.Cell, form *sheet, fit calibrate.Fit, reason string, step float64) (why string, err error) {
	k := calibrate.Keep(fit, reason, step)
	k.Note, k.Certificate = form.typed("note"), certificateTyped(form)
	k.From = s.from(form, k.Certificate)
	if !form.good() {
		return text("newcell.look"), nil
	}
	_, err = s.Store.SaveCalibration(ctx, store.Calibration{Cell: c.ID, Kept: k})
	switch {
	case errors.Is(err, calibrate.ErrKept):
		_, why, _ := strings.Cut(err.Error(), calibrate.ErrKept.Error()+": ")
		return sentence(why), nil
	case err != nil:
		return "", storeSays(err)
	}
	return "", nil
}

// fitView is a fit with its figures, before it is kept.
type fitView struct {
	Says    string // the curve, or why there is none
	Facts   []fact
	Remarks []string // what to know of it
}

func fitViewOf(fit calibrate.Fit, reason string, step float64, u unit.ForceUnit) fitView {
	r := fit.Record(reason, step)
	return fitView{
		Says:  count("points.fit", len(fit.Points), fit.Degree(), offBy(fit.ResidualSD, u), offBy(fit.Absolute95(), u)),
		Facts: fitFacts(r, u), Remarks: r.Remarks,
	}
}

// from is the moment from which on a calibration is to hold: as written, else
// the date of its certificate, else now.
func (s *server) from(form *sheet, c *calibrate.Certificate) string {
	typed := form.typed("from")
	if typed == "" && c != nil {
		typed = c.Date
	}
	if typed == "" {
		return s.Now().UTC().Format(time.RFC3339)
	}
	day, err := time.ParseInLocation(time.DateOnly, typed, s.Zone)
	if err != nil {
		form.refuse("from", text("refused.date", typed))
	}
	return day.UTC().Format(time.RFC3339)
}

// certificateTyped is the certificate as it was filled in; nil: none was.
func certificateTyped(form *sheet) *calibrate.Certificate {
	c := calibrate.Certificate{Number: form.typed("number"), By: form.typed("by"), Date: form.typed("date"), Expires: form.typed("expires"), Class: form.typed("class")}
	var err error
	if t := form.typed("range"); t != "" {
		if c.Low, c.High, err = calibrate.ParseRange(t); err != nil {
			form.refuse("range", sentence(err.Error()))
		}
	}
	if t := form.typed("stated"); t != "" {
		if c.Relative95, c.Absolute95, err = calibrate.ParseStated(t); err != nil {
			form.refuse("stated", sentence(err.Error()))
		}
	}
	for _, name := range []string{"date", "expires"} {
		if _, err := time.Parse(time.DateOnly, form.typed(name)); form.typed(name) != "" && err != nil {
			form.refuse(name, text("refused.date", form.typed(name)))
		}
	}
	if c == (calibrate.Certificate{}) {
		return nil
	}
	if c.Number == "" {
		form.refuse("number", text("points.nonumber"))
	}
	return &c
}
