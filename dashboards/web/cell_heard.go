package web

import (
	"context"
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"tautlog/calc/unit"
	"tautlog/ingest/listen"
	"tautlog/ingest/store"
)

// heardPage shows what was heard on a line, and keeps it as a cell.
type heardPage struct {
	Under     []string // what happened so far, while it is listened to
	Over      bool
	Failed    string
	Heard     string // how much came
	Frames    bool   // Sent are frames, in hex
	Sent      []string
	Proposals []proposalRow
	Number    int64
	Again     url.Values
	Groups    []group
	Known     string // the name of a cell that is set up already
	Wrong     string
	Who       string
	Token     string
}

// proposalRow is a way of reading what was heard.
type proposalRow struct {
	Number       int
	Chosen       bool
	Says, Counts string
	Reasons      []string
	Latest       string
}

// latestShown is how many readings are shown, the latest ones.
const latestShown = 3

func (s *server) heard(w http.ResponseWriter, r *http.Request) error {
	return s.showHeard(w, r, newSheet(url.Values{}), "", "")
}

// hearingProgress is what happens while it is listened to, for a page that is
// open. When that is over it leads to what was heard.
func (s *server) hearingProgress(w http.ResponseWriter, r *http.Request) error {
	h := s.ear.now()
	if h == nil {
		return notHere()
	}
	return s.fragment(w, r, "heard", "progress", heardPage{Under: h.told(), Over: h.over()})
}

func (s *server) showHeard(w http.ResponseWriter, r *http.Request, form *sheet, wrong, known string) error {
	h := s.ear.now()
	if h == nil {
		http.Redirect(w, r, "/cells/new", http.StatusSeeOther)
		return nil
	}
	v := heardPage{Under: h.told(), Over: h.over(), Number: h.number, Again: h.again(), Wrong: wrong, Known: known, Who: signature(r), Token: s.tokenIn(r.Context())}
	if v.Over {
		name, err := s.freeCellName(r.Context())
		if err != nil {
			return err
		}
		form.fill(map[string]string{"name": name})
		v.show(h, form.in(chosen(r).Unit))
	}
	return s.show(w, r, "heard", text("heard.title"), v)
}

// show fills in what was heard.
func (v *heardPage) show(h *hearing, form *sheet) {
	if h.err != nil {
		v.Failed = sentence(h.err.Error())
	}
	if h.heard == nil {
		return
	}
	all := h.heard.Proposals()
	v.Heard = count("heard.much", h.heard.Bytes, h.heard.Line.Path, h.heard.Line.Baud, h.heard.Seconds())
	counts := true
	for i, p := range all {
		row := proposalRow{
			Number: i + 1, Chosen: strconv.Itoa(i+1) == form.typed("proposal") || i == 0 && form.typed("proposal") == "",
			Says: sentence(p.InWords), Counts: count("heard.counts", int(p.Stats.Readings), p.PerS, p.Stats.Rejected),
			Reasons: p.Reasons, Latest: strings.Join(h.heard.Latest(p, latestShown), ", "),
		}
		v.Proposals = append(v.Proposals, row)
		if _, _, known := p.Config.ForceUnit(); known && i == 0 {
			counts = false
		}
	}
	if len(all) > 0 {
		v.Frames = all[0].Config.Format != "text"
		v.Sent = h.heard.Sent(all[0].Config.Format)
	} else {
		v.Sent = h.heard.Sent("text")
	}
	fields := []entry{
		{Name: "name", Label: text("page.cell.heard.name"), Hint: text("page.cell.heard.name.hint")},
		{Name: "capacity", Label: text("page.cell.heard.capacity"), HintOf: "page.cell.heard.capacity.hint", Like: []unit.Force{100e3}},
	}
	if counts {
		fields = append(fields, entry{Name: "curve", Label: text("page.cell.heard.curve"), Hint: text("page.cell.heard.curve.hint")})
	}
	v.Groups = []group{
		{Title: text("heard.setup"), Fields: form.set(fields...)},
		{Title: text("heard.certificate"), More: true, Fields: form.set(
			entry{Name: "uncertainty", Label: text("page.cell.heard.uncertainty"), Hint: text("page.cell.heard.uncertainty.hint")},
		)},
	}
}

// freeCellName is a name that no cell has yet.
func (s *server) freeCellName(ctx context.Context) (string, error) {
	cells, err := s.Store.Cells(ctx)
	if err != nil {
		return "", err
	}
	for n := 1; ; n++ {
		name := text("heard.called", n)
		if !slices.ContainsFunc(cells, func(c store.Cell) bool { return c.Name == name }) {
			return name, nil
		}
	}
}

// keepHeard keeps what was heard as a cell and records it from now on.
func (s *server) keepHeard(w http.ResponseWriter, r *http.Request) error {
	h := s.heardNumber(r)
	if h == nil {
		return refuse(http.StatusConflict, text("heard.old"))
	}
	form := newSheet(r.PostForm)
	set := listen.Setting{Name: form.typed("name"), Curve: form.typed("curve")}
	set.Capacity, _ = quantity(form, "capacity", "capacity", unit.ParseStamped, above)
	if t := form.typed("uncertainty"); t != "" {
		var err error
		if set.RelativePercent, err = plain(t); err != nil || set.RelativePercent < 0 || set.RelativePercent > 100 {
			form.refuse("uncertainty", text("heard.percent", t))
		}
	}
	switch set.Name {
	case "":
		form.refuse("name", text("heard.noname"))
	case "new": // the address of the page that sets one up
		form.refuse("name", text("heard.new"))
	}
	all := h.heard.Proposals()
	n := form.count("proposal", 1, max(1, len(all)), 1)
	if len(all) == 0 {
		return s.showHeard(w, r, form, text("heard.nothing"), "")
	}
	known, err := s.Store.CellByName(r.Context(), set.Name)
	if err != nil && !errors.Is(err, store.ErrNotFound) {
		return err
	}
	if known.ID != 0 && form.typed("change") == "" {
		form.refuse("name", text("heard.known", set.Name))
	}
	set.Known = known
	if !form.good() {
		return s.showHeard(w, r, form, text("newcell.look"), known.Name)
	}
	cell, err := set.Cell(h.heard.Line, all[n-1])
	if err != nil {
		form.refuse("curve", sentence(err.Error()))
		return s.showHeard(w, r, form, text("newcell.look"), known.Name)
	}
	return s.record(w, r, h, cell)
}

// record saves a cell and has it recorded.
func (s *server) record(w http.ResponseWriter, r *http.Request, h *hearing, cell store.Cell) error {
	ctx := s.signed(w, r, "who")
	saved, err := s.Store.SaveCell(ctx, cell)
	if err != nil {
		return storeSays(err)
	}
	s.ear.forget(h)
	if err := h.heard.Leave(r.Context()); err != nil {
		s.Log.Warn(text("heard.unleft"), "cell", saved.Name, "problem", err) // its page tells why it is not read
	}
	if err := s.Watcher.Set(r.Context(), saved); err != nil {
		return refuse(http.StatusServiceUnavailable, text("heard.unrecorded", saved.Name, err))
	}
	rigs, err := s.Store.RigNames(ctx)
	if err != nil {
		return err
	}
	next := cellPath(saved.Name)
	if len(rigs) == 0 { // nothing could be judged yet
		next = "/rigs/first?cell=" + urlEscape(saved.Name)
	}
	http.Redirect(w, r, next, http.StatusSeeOther)
	return nil
}

// dropCell records a cell no more: its port is free. What was recorded stays.
func (s *server) dropCell(w http.ResponseWriter, r *http.Request) error {
	c, err := s.cellNamed(r)
	if err != nil {
		return err
	}
	cell := c.Cell
	cell.Line.Path = ""
	if _, err := s.Store.SaveCell(s.signed(w, r, "who"), cell); err != nil {
		return storeSays(err)
	}
	if s.Recorder != nil {
		s.Recorder.Drop(cell.ID)
	}
	http.Redirect(w, r, cellPath(cell.Name), http.StatusSeeOther)
	return nil
}
