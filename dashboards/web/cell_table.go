package web

import (
	"crypto/sha256"
	"encoding/hex"
	"net/http"
	"strconv"
	"strings"

	"tautlog/calc/calibrate"
	"tautlog/ingest/derive"
)

// maxTable is the largest table of points, in bytes.
const maxTable = 1 << 20

// tablePage is the page on which a calibration comes from a table.
type tablePage struct {
	Cell    string
	Path    string
	Refused string
	Table   []entry
	Fit     *fitView // nil: none was asked for yet, or there is none
	Points  []pointRow
	Shown   string // names the fit that is shown
	Keep    []group
	Who     string
	Token   string
}

func (s *server) table(w http.ResponseWriter, r *http.Request) error {
	c, err := s.cellNamed(r)
	if err != nil {
		return err
	}
	return s.showTable(w, r, c, newSheet(nil), nil, "")
}

func (s *server) showTable(w http.ResponseWriter, r *http.Request, c derive.Cell, form *sheet, fit *tableFit, refused string) error {
	u := chosen(r).Unit
	v := tablePage{Cell: c.Name, Path: cellPath(c.Name), Refused: refused, Who: signature(r), Token: s.tokenIn(r.Context())}
	v.Table = form.set(
		entry{Name: "text", Label: text("table.text"), Hint: text("table.text.hint"), Area: true, Most: maxTable},
		entry{Name: "file", Label: text("table.file"), Hint: text("table.file.hint"), Kind: "file", Takes: ".csv,.txt,.tsv,text/csv,text/plain"},
		degreeEntry(),
		entry{Name: "step", Label: text("table.step"), Hint: text("table.step.hint")},
	)
	v.Table[0].Value = form.q.Get("text") // whole: a blank may be an empty cell
	if fit != nil {
		told := fitViewOf(fit.Fit, fit.reason, fit.step, u)
		v.Fit, v.Points, v.Shown = &told, pointRows(fit.Points, fit.Curve, u), fit.name
		v.Keep = keepForm(form.in(u))
		v.Keep[0].Fields = v.Keep[0].Fields[1:] // the degree stands above
	}
	return s.showAs(w, r, formStatus(form, refused != ""), "calibrationtable", text("table.title", c.Name), v)
}

// tableFit is the fit of a table.
type tableFit struct {
	calibrate.Fit
	reason string
	step   float64
	name   string // of what was fitted, and how
}

// tableSent fits a table, and keeps that when the form says so, if it is the fit
// that was shown.
func (s *server) tableSent(w http.ResponseWriter, r *http.Request) error {
	c, err := s.cellNamed(r)
	if err != nil {
		return err
	}
	form := newSheet(r.PostForm)
	typed, field, err := fileOrText(r)
	if err != nil {
		return err
	}
	typed = strings.Trim(typed, "\n") // a browser leaves out the first of them: lines would count otherwise
	form.q.Set("text", typed)         // what came as a file stands there to be looked at
	fit := fitTable(form, typed, field)
	if fit == nil || form.typed("do") != "keep" {
		return s.showTable(w, r, c, form, fit, "")
	}
	if form.typed("shown") != fit.name {
		return s.showTable(w, r, c, form, fit, text("table.changed"))
	}
	why, err := s.keepFit(s.signed(w, r, "who"), c, form, fit.Fit, fit.reason, fit.step)
	if err != nil {
		return err
	}
	if why != "" {
		return s.showTable(w, r, c, form, fit, why)
	}
	return s.done(w, r, c, nil, cellPath(c.Name)+"#calibration")
}

// fitTable fits what was sent; nil where that cannot be, which is then said
// beside its field.
func fitTable(form *sheet, typed, field string) *tableFit {
	f := &tableFit{}
	if t := form.typed("step"); t != "" {
		var err error
		if f.step, err = plain(t); err != nil || f.step <= 0 {
			form.refuse("step", text("table.badstep", t))
		}
	}
	if strings.TrimSpace(typed) == "" {
		form.refuse("text", text("table.nothing"))
		return nil
	}
	points, err := calibrate.ReadPoints(strings.NewReader(typed))
	if err == nil {
		f.Fit, f.reason, err = fitted(points, form)
	}
	if err != nil {
		where := text("table.text")
		if field == "file" {
			where = text("table.file")
		}
		form.refuse("text", text("table.wrong", strings.ToLower(where), sentence(err.Error())))
	}
	if !form.good() {
		return nil
	}
	sum := sha256.Sum256([]byte(strings.Join([]string{typed, form.typed("degree"), strconv.FormatFloat(f.step, 'g', -1, 64)}, "\x00")))
	f.name = hex.EncodeToString(sum[:8])
	return f
}
