package web

import (
	"errors"
	"math"
	"net/http"
	"net/url"
	"time"

	"tautlog/calc/calibrate"
	"tautlog/calc/unit"
	"tautlog/ingest/derive"
	"tautlog/ingest/store"
)

// checkForm is the field for a known load.
func checkForm(f *sheet) []entry {
	return f.set(
		entry{Name: "load", Label: text("page.cell.acts.load"), HintOf: "page.cell.acts.load.hint", Like: []unit.Force{5e3, 0}},
		entry{Name: "load-95", Label: text("page.cell.acts.load-95"), HintOf: "page.cell.acts.load-95.hint", Like: []unit.Force{10}},
	)
}

// backTo is the page that a form was sent from: the cell's, or the line's.
func backTo(r *http.Request, c derive.Cell) string {
	if r.PostForm.Get("back") == "line" {
		return "/line?cell=" + url.QueryEscape(c.Name) + "#zero"
	}
	return cellPath(c.Name)
}

// steadyAsked is the cell of an address and how it hangs just now.
func (s *server) steadyAsked(r *http.Request) (derive.Cell, calibrate.Steadiness, error) {
	c, err := s.cellNamed(r)
	if err != nil {
		return c, calibrate.Steadiness{}, err
	}
	got, err := derive.Steady(r.Context(), s.Store, c, s.Now(), math.MinInt64)
	return c, got, err
}

// zeroCell takes the level of the line off from now on.
func (s *server) zeroCell(w http.ResponseWriter, r *http.Request) error {
	c, got, err := s.steadyAsked(r)
	if err != nil {
		return err
	}
	kind := calibrate.Slack
	if r.PostForm.Get("kind") == string(calibrate.Tare) {
		kind = calibrate.Tare
	}
	_, err = c.SetZero(s.signed(w, r, "who"), s.Store, got, kind)
	return s.done(w, r, c, err, backTo(r, c))
}

// done leads to a page after something was done to a cell, or says on the page
// of the cell why nothing was.
func (s *server) done(w http.ResponseWriter, r *http.Request, c derive.Cell, err error, to string) error {
	if errors.Is(err, derive.ErrNotTaken) {
		return s.showCell(w, r, c, newSheet(r.PostForm), sentence(err.Error()))
	}
	if err != nil {
		return storeSays(err)
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// checkCell holds what hangs against the calibration, and keeps that.
func (s *server) checkCell(w http.ResponseWriter, r *http.Request) error {
	c, got, err := s.steadyAsked(r)
	if err != nil {
		return err
	}
	form := newSheet(r.PostForm)
	var known, known95 unit.Force
	if r.PostForm.Get("slack") == "" {
		known = needed(form, "load", "load", likeForce(5e3, chosen(r).Unit), unit.ParseForce, notBelow)
		known95, _ = quantity(form, "load-95", "uncertainty", unit.ParseForce, notBelow)
	} else if form.typed("load") != "" {
		form.refuse("load", text("cell.check.both"))
	}
	if !form.good() {
		return s.showCell(w, r, c, form, "")
	}
	_, err = c.MakeCheck(s.signed(w, r, "who"), s.Store, got, known, known95)
	return s.done(w, r, c, err, cellPath(c.Name)+"#checks")
}

// measureAgain measures the pulls again that were measured by what is no longer
// in force.
func (s *server) measureAgain(w http.ResponseWriter, r *http.Request) error {
	c, err := s.cellNamed(r)
	if err != nil {
		return err
	}
	stale, err := derive.StalePulls(r.Context(), s.Store, c)
	if err == nil {
		_, err = derive.Again(s.signed(w, r, "who"), s.Store, c, stale)
	}
	return s.done(w, r, c, err, cellPath(c.Name))
}

// useCalibration keeps a calibration once more, to hold from now on.
func (s *server) useCalibration(w http.ResponseWriter, r *http.Request) error {
	c, err := s.cellNamed(r)
	if err != nil {
		return err
	}
	n, err := number(r.PostForm.Get("number"), text("cell.acalibration"))
	if err != nil {
		return err
	}
	kept, err := s.Store.Calibrations(r.Context(), c.ID)
	if err != nil {
		return err
	}
	for _, k := range kept {
		if int64(k.Number) == n {
			k.Repeats, k.From, k.Made, k.Who = k.Number, s.Now().UTC().Format(time.RFC3339), "", ""
			_, err := s.Store.SaveCalibration(s.signed(w, r, "who"), k)
			return s.done(w, r, c, err, cellPath(c.Name))
		}
	}
	return refuse(http.StatusNotFound, text("refused.nochange"))
}

// undoOfCell takes back that a calibration, a check or a zero of the cell was
// made, or removed.
func (s *server) undoOfCell(w http.ResponseWriter, r *http.Request) error {
	c, err := s.cellNamed(r)
	if err != nil {
		return err
	}
	change, err := number(r.PostForm.Get("change"), text("page.cell.acts.the-change"))
	if err != nil {
		return err
	}
	mine, err := s.changeOf(r, c, change)
	if err != nil {
		return err
	}
	if !mine {
		return refuse(http.StatusNotFound, text("refused.nochange"))
	}
	_, err = s.Store.Undo(s.signed(w, r, "who"), change)
	return s.done(w, r, c, err, backTo(r, c))
}

// changeOf tells whether a change is of something that was done to the cell.
func (s *server) changeOf(r *http.Request, c derive.Cell, change int64) (bool, error) {
	refs := map[string][]int64{}
	kept, err := s.Store.Calibrations(r.Context(), c.ID)
	if err != nil {
		return false, err
	}
	for _, k := range kept {
		refs["calibration"] = append(refs["calibration"], k.ID)
	}
	zeros, err := s.Store.Zeros(r.Context(), c.ID)
	if err != nil {
		return false, err
	}
	for _, z := range zeros {
		refs["zero"] = append(refs["zero"], z.ID)
	}
	checks, err := s.Store.Checks(r.Context(), c.ID)
	if err != nil {
		return false, err
	}
	for _, k := range checks {
		refs["check"] = append(refs["check"], k.ID)
	}
	for what, ids := range refs {
		for _, id := range ids {
			latest, err := s.Store.Changes(r.Context(), store.JournalFilter{What: what, Ref: id, Limit: 1})
			if err != nil {
				return false, err
			}
			if len(latest) > 0 && latest[0].ID == change {
				return true, nil
			}
		}
	}
	return false, nil
}
