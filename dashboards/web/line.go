package web

import (
	"html/template"
	"net/http"
	"slices"
	"time"

	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/dashboards/chain"
	"tautlog/ingest/derive"
	"tautlog/ingest/store"
)

// resultsShown is how many results the live page keeps below the line, and
// resultsFor how long: those of another day are among the pulls.
const (
	resultsShown = 3
	resultsFor   = 12 * time.Hour
)

// lineView is the live page.
type lineView struct {
	Cell      store.Cell
	Cells     []store.Cell
	Statuses  []cellSaid
	Recording bool
	Unlive    string // why nothing is, where it is not
	Force     string
	Unit      unit.ForceUnit
	PerNewton float64
	State     string
	Peak      string
	IsTaut    bool
	Unread    bool // no reading comes: Force is the last one
	InForce   *rig.Rig
	Limit     *limitView // of InForce
	Unfit     []string   // what the register says against its items today
	Over      string     // that it was crossed in the pull going on
	Ground    string
	Rigs      []store.Name
	RigID     int64
	Version   int64  // of what is in force: since when it is
	Stale     *stale // where somebody else set it up meanwhile
	Set       *setView
	Wide      template.HTML
	Tall      template.HTML
	Results   []result
	CellPath  string
	Zero      string // what is taken off
	Token     string
}

func (v lineView) taut() bool { return v.IsTaut }

// cautioned: the cautions stand under the reading.
func (lineView) cautioned() {}

func (s *server) line(w http.ResponseWriter, r *http.Request) error {
	cells, err := s.Store.Cells(r.Context())
	if err != nil {
		return err
	}
	if len(cells) == 0 { // the page of cells tells what to do
		http.Redirect(w, r, "/cells", http.StatusSeeOther)
		return nil
	}
	c, err := pick(cells, r.URL.Query().Get("cell"))
	if err != nil {
		return err
	}
	return s.showLine(w, r, c, nil, nil)
}

// showLine shows the live page of a cell. Where somebody else set it up
// meanwhile, its form holds what is to stand in it then.
func (s *server) showLine(w http.ResponseWriter, r *http.Request, c store.Cell, form *store.Document[store.Setup], st *stale) error {
	cells, err := s.Store.Cells(r.Context())
	if err != nil {
		return err
	}
	u := chosen(r).Unit
	v := lineView{
		Cell: c, Cells: cells, Stale: st, Recording: s.Recorder != nil, Unit: u, PerNewton: unit.Force(1).In(u),
		Force: text("line.unknown"), State: text("line.silent"), Token: s.tokenIn(r.Context()),
	}
	if v.Unlive = text("refused.stream"); s.forms != "" {
		v.Unlive = text("line.elsewhere")
	}
	v.Statuses = s.said(cells)
	if err := s.rigged(r, &v); err != nil {
		return err
	}
	if v.Set, err = s.lastSet(r.Context(), c.ID); err != nil {
		return err
	}
	if form != nil {
		v.Version, v.Ground, v.RigID = form.Version, form.Value.Ground, form.Value.Rig
	}
	if v.Results, err = s.latest(r, c, u); err != nil {
		return err
	}
	known, err := derive.Of(r.Context(), s.Store, c)
	if err != nil {
		return err
	}
	v.CellPath, v.Zero = cellPath(c.Name), text("zero.none")
	if z := known.History.At(s.Now().UnixNano()).Zero; z != nil {
		v.Zero = sentence(text("cell.acted", s.at(z.At), z.Who, zeroSays(known, *z, u)))
	}
	if s.Watcher != nil {
		now := s.moment(s.Watcher.State(c.ID), c, v.Limit, u)
		v.Force, v.State, v.Peak, v.IsTaut, v.Over = now.Force, now.State, now.Peak, now.Taut, now.Over
		if a, ok := s.statusOf(c.ID); ok && unread(a) {
			v.State, v.IsTaut, v.Unread = awaySays(a), false, true
			if a.LastReading.IsZero() {
				v.Force = text("line.unknown")
			}
		}
	}
	return s.showAs(w, r, formStatus(newSheet(nil), st != nil), "line", text("line.title"), v)
}

// pick finds a cell by name; without a name it is the first.
func pick(cells []store.Cell, name string) (store.Cell, error) {
	for _, c := range cells {
		if name == "" || c.Name == name {
			return c, nil
		}
	}
	return store.Cell{}, refuse(http.StatusNotFound, text("refused.cell", name))
}

// rigged adds what is in force for the cell and what could be.
func (s *server) rigged(r *http.Request, v *lineView) error {
	var err error
	if v.Rigs, err = s.Store.RigNames(r.Context()); err != nil {
		return err
	}
	setup, err := s.Store.Setup(r.Context(), v.Cell.ID)
	if err != nil {
		return ignoreMissing(err)
	}
	v.Ground, v.RigID, v.Version = setup.Ground, setup.Rig, setup.Since
	if !slices.ContainsFunc(v.Rigs, func(n store.Name) bool { return n.ID == setup.Rig }) {
		return nil // none, or it was removed
	}
	d, err := s.Store.Rig(r.Context(), setup.Rig)
	if err != nil {
		return err
	}
	v.InForce, v.Limit = &d.Value, lineLimit(d.Value, v.Cell, v.Unit)
	o := chain.Options{Unit: v.Unit, ID: "now-"}
	v.Wide, v.Tall = drawn(d.Value, nil, o, chain.Wide), drawn(d.Value, nil, o, chain.Tall)
	v.Unfit, err = s.unfit(r.Context(), d.Value, v.Unit)
	return err
}

// latest gives the newest results of a cell.
func (s *server) latest(r *http.Request, c store.Cell, u unit.ForceUnit) ([]result, error) {
	ps, err := s.Store.Pulls(r.Context(), store.PullFilter{From: s.Now().Add(-resultsFor).UnixNano(), Cell: c.ID, Limit: resultsShown})
	if err != nil {
		return nil, err
	}
	out := make([]result, len(ps))
	for i, p := range ps {
		if out[i], err = s.result(r.Context(), p, c.Name, u); err != nil {
			return nil, err
		}
		if err := s.advise(r.Context(), p.ID, out[i].Verdicts); err != nil {
			return nil, err
		}
	}
	if len(ps) > 0 {
		err = s.askAbout(r, &out[0], ps[0])
	}
	return out, err
}

// askAbout adds the question that the live page asks of its latest pull, unless
// everything is known of it.
func (s *server) askAbout(r *http.Request, told *result, p store.Pull) error {
	if s.Now().UnixNano()-p.Found.End > askFor.Nanoseconds() {
		return nil
	}
	behind, err := readAsked(r.URL.Query().Get("asked"))
	if err != nil {
		return err
	}
	v, err := s.ask(r.Context(), p, told.Cell, behind)
	if v.Step != "" || len(behind) > 0 {
		told.Ask = v
	}
	return err
}

// lineResults is the part of the live page below the line, for a page that
// has come back after an interruption.
func (s *server) lineResults(w http.ResponseWriter, r *http.Request) error {
	c, err := s.cellAsked(r)
	if err != nil {
		return err
	}
	rs, err := s.latest(r, c, chosen(r).Unit)
	if err != nil {
		return err
	}
	return s.fragment(w, r, "line", "results", rs)
}

// lineRig is the rig in force, drawn, for a live page on which it changed.
func (s *server) lineRig(w http.ResponseWriter, r *http.Request) error {
	c, err := s.cellAsked(r)
	if err != nil {
		return err
	}
	v := lineView{Cell: c, Unit: chosen(r).Unit}
	if err := s.rigged(r, &v); err != nil {
		return err
	}
	return s.fragment(w, r, "line", "rig-in-force", v)
}

// cellAsked is the cell named in the address.
func (s *server) cellAsked(r *http.Request) (store.Cell, error) {
	cells, err := s.Store.Cells(r.Context())
	if err != nil {
		return store.Cell{}, err
	}
	return pick(cells, r.URL.Query().Get("cell"))
}
