package web

import (
	"context"
	"encoding/json"
	"html/template"
	"net/http"
	"slices"
	"strconv"
	"time"

	"tautlog/analysis/pull"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/dashboards/chain"
	"tautlog/ingest/derive"
	"tautlog/ingest/record"
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

// cellSaid is how a cell is doing, in a sentence.
type cellSaid struct{ Name, Sentence string }

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

// setUp puts a rig and a ground in force for a cell, over what was in force
// when the form was shown.
func (s *server) setUp(w http.ResponseWriter, r *http.Request) error {
	c, err := s.Store.CellByName(r.Context(), r.PostForm.Get("cell"))
	if err != nil {
		return err
	}
	f := newSheet(r.PostForm)
	document := func(u store.Setup, err error) (store.Document[store.Setup], error) {
		return store.Document[store.Setup]{ID: c.ID, Version: u.Since, Value: u}, ignoreMissing(err)
	}
	names, err := s.rigNames(r.Context())
	if err != nil {
		return err
	}
	return keeper[store.Setup]{
		who: s.setBy, main: "ground", path: func(int64) string { return "/line?cell=" + urlEscape(c.Name) + "#rig" },
		read: func(ctx context.Context, _ int64) (store.Document[store.Setup], error) {
			return document(s.Store.Setup(ctx, c.ID))
		},
		at: s.Store.SetupAt,
		save: func(ctx context.Context, d store.Document[store.Setup]) (store.Document[store.Setup], error) {
			d.Value.Cell = c.ID
			return document(s.Store.SetSetupOver(ctx, d.Value, d.Version))
		},
		over: func(was store.Setup) (store.Setup, error) {
			was.Rig, err = number(f.typed("rig"), text("number.rig"))
			if _, err := s.Store.Rig(r.Context(), was.Rig); was.Rig != 0 && err != nil {
				return was, err
			}
			was.Ground = f.typed("ground")
			return was, err
		},
		typed: func(u store.Setup) map[string]string {
			return map[string]string{"rig": names[u.Rig], "ground": u.Ground}
		},
		labels: func(...store.Setup) map[string]string {
			return map[string]string{"rig": text("page.line.rig-from-now"), "ground": text("page.line.ground")}
		},
		show: func(d store.Document[store.Setup], st *stale) error { return s.showLine(w, r, c, &d, st) },
	}.keep(s, w, r, f, c.ID)
}

// setView is the latest change of what is in force for a cell, which can be
// taken back.
type setView struct {
	Change int64
	Says   string
}

// lastSet tells the latest change of what is in force for a cell, and what was
// before it; nil where there was none.
func (s *server) lastSet(ctx context.Context, cell int64) (*setView, error) {
	changes, err := s.Store.Changes(ctx, store.JournalFilter{What: "setup", Ref: cell, Limit: 1})
	if err != nil || len(changes) == 0 {
		return nil, err
	}
	c := changes[0]
	var before store.Setup
	if c.Before != nil {
		if err := json.Unmarshal(c.Before, &before); err != nil {
			return nil, err
		}
	}
	names, err := s.rigNames(ctx)
	if err != nil {
		return nil, err
	}
	was := orNothing(names[before.Rig])
	if before.Ground != "" {
		was = text("line.on", was, before.Ground)
	}
	return &setView{c.ID, text("line.set", c.Who, s.at(c.At.UnixNano()), was)}, nil
}

// undoSetUp takes back the latest change of what is in force for a cell.
func (s *server) undoSetUp(w http.ResponseWriter, r *http.Request) error {
	c, err := s.Store.CellByName(r.Context(), r.PostForm.Get("cell"))
	if err != nil {
		return err
	}
	change, err := number(r.PostForm.Get("change"), text("page.line.the-change"))
	if err != nil {
		return err
	}
	now, err := s.lastSet(r.Context(), c.ID)
	if err != nil {
		return err
	}
	if now == nil || now.Change != change {
		return refuse(http.StatusConflict, text("refused.conflict"))
	}
	if _, err := s.Store.Undo(r.Context(), change); err != nil {
		return storeSays(err)
	}
	http.Redirect(w, r, "/line?cell="+urlEscape(c.Name)+"#rig", http.StatusSeeOther)
	return nil
}

// rigNames are the rigs' names by their IDs; 0 is none.
func (s *server) rigNames(ctx context.Context) (map[int64]string, error) {
	all, err := s.Store.RigNames(ctx)
	out := map[int64]string{}
	for _, n := range all {
		out[n.ID] = n.Name
	}
	return out, err
}

// setBy tells who put something in force for a cell since a moment.
func (s *server) setBy(ctx context.Context, cell, since, _ int64) (out []string, err error) {
	changes, err := s.Store.Changes(ctx, store.JournalFilter{What: "setup", Ref: cell, Limit: shownChanges})
	for _, c := range changes {
		if c.At.UnixNano() > since {
			out = append(out, s.changeBy(c))
		}
	}
	return out, err
}

func number(s, what string) (int64, error) {
	n, err := strconv.ParseInt(s, 10, 64)
	if err != nil {
		return 0, refuse(http.StatusBadRequest, text("refused.number", s, what))
	}
	return n, nil
}

// said tells how each cell is doing.
func (s *server) said(cells []store.Cell) []cellSaid {
	byID := map[int64]record.Status{}
	if s.Recorder != nil {
		for _, st := range s.Recorder.Statuses() {
			byID[st.Cell] = st
		}
	}
	out := make([]cellSaid, len(cells))
	for i, c := range cells {
		st, ok := byID[c.ID]
		out[i] = cellSaid{c.Name, text("cell.recorded", c.Name)}
		if ok {
			out[i].Sentence = s.statusSentence(c.Name, st)
		}
	}
	return out
}

func (s *server) statusSentence(name string, st record.Status) string {
	switch {
	case st.Problem != "":
		return st.Problem
	case st.LastReading.IsZero():
		return text("cell.upnone", name)
	}
	ago := s.Now().Sub(st.LastReading)
	if ago < 2*time.Second {
		return text("cell.upnow", name)
	}
	return text("cell.up", name, seconds(ago.Seconds()))
}

// unread says that no reading comes from a cell just now: what it read last
// tells nothing of the line any more.
func unread(a record.Status) bool { return !a.Up || a.Silent }

// awaySays is the state of a line whose cell is unread.
func awaySays(a record.Status) string {
	if a.LastReading.IsZero() {
		return text("line.silent")
	}
	return text("line.away")
}

// statusOf is how a cell is doing, where it is recorded.
func (s *server) statusOf(cell int64) (record.Status, bool) {
	if s.Recorder == nil {
		return record.Status{}, false
	}
	for _, a := range s.Recorder.Statuses() {
		if a.Cell == cell {
			return a, true
		}
	}
	return record.Status{}, false
}

// moment is what the live page says of one moment.
type moment struct {
	Force string `json:"force"`
	State string `json:"state"`
	Peak  string `json:"peak"`
	Taut  bool   `json:"taut"`
	Over  string `json:"over"` // that the limit was crossed in this pull
}

func (s *server) moment(st pull.State, c store.Cell, l *limitView, u unit.ForceUnit) moment {
	step := lastDigit(c)
	m := moment{Force: digits(st.Force, u, step), State: text("line.slack"), Taut: st.Taut}
	if st.Taut {
		largest := max(st.Peak, st.Force)
		m.State = text("line.taut")
		m.Peak = text("line.peak", largest.Show(u, step))
		if l.Drawn() && largest > l.Force {
			m.Over = l.Over
		}
	}
	return m
}
