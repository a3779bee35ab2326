package web

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"reflect"
	"slices"
	"strings"
	"time"

	"tautlog/ingest/store"
)

// pullView is the page of one pull.
type pullView struct {
	result
	Version  int64
	Measured []fact
	Terms    []fact
	Known    []entry  // what a person says of it
	Stale    *stale   // where somebody else was faster
	Wrong    bool     // what was said of it was refused
	Apart    string   // where that and the trace disagree
	Undo     []string // what undoing the last change would bring back
	Before   string   // the same, told
	UndoOf   int64
	Proof    *proofStep // keeps it as proof of a point; nil for another kind of pull
	Told     []fact     // what is known of it, for somebody who may not change it
	Token    string
	Zoom     zoomView
	Outdated string     // that something else is in force now than it was measured by
	Again    *againView // what measuring it again changed; nil: it never was
	Photos   []photoView
	Photo    entry
	Limits   *limitsView // nil: it is not over yet
	Review   *reviewView // likewise
	Sheet    string      // the date in the address of its day sheet
	RigStep  *rigStep
	Readings bool // those of its time are kept here
}

// cautioned: the cautions stand under the peak.
func (pullView) cautioned() {}

func (s *server) pullAsked(r *http.Request) (store.Pull, store.Cell, error) {
	id, err := number(r.PathValue("id"), text("page.pulls.a-pull"))
	if err != nil {
		return store.Pull{}, store.Cell{}, err
	}
	p, err := s.Store.Pull(r.Context(), id)
	if err != nil {
		return p, store.Cell{}, err
	}
	c, err := s.cellOf(r.Context(), p)
	return p, c, err
}

// cellOf is the cell that read a pull.
func (s *server) cellOf(ctx context.Context, p store.Pull) (store.Cell, error) {
	cells, err := s.Store.Cells(ctx)
	if err != nil {
		return store.Cell{}, err
	}
	for _, c := range cells {
		if c.ID == p.Cell {
			return c, nil
		}
	}
	return store.Cell{}, store.ErrNotFound
}

// pullTold is the pull that the address names, its cell, and what is told of
// it.
func (s *server) pullTold(r *http.Request) (store.Pull, store.Cell, result, error) {
	p, c, err := s.pullAsked(r)
	if err != nil {
		return p, c, result{}, err
	}
	told, err := s.result(r.Context(), p, c.Name, chosen(r).Unit)
	return p, c, told, err
}

func (s *server) pull(w http.ResponseWriter, r *http.Request) error {
	p, c, err := s.pullAsked(r)
	if err != nil {
		return err
	}
	return s.showPull(w, r, p, c, emptyForms(p))
}

// pullForms are the forms of a pull's page as they were typed, where they were
// refused: the one that keeps it as proof, and what a person says of it, with
// what somebody else made of that meanwhile and the version that it is sent
// with. photo adds pictures.
type pullForms struct {
	proof, said, photo *sheet
	stale              *stale
	version            int64

	// limits is the form of where it starts and ends, with what somebody else
	// made of that, and what those that were typed would make of the pull.
	limits      *sheet
	limitsStale *stale
	tried       *triedView

	// review are the forms that part it, join it or set it aside, likewise.
	review      *sheet
	reviewStale *stale
	reviewTried *partsView
}

// emptyForms are those of a page that nothing was refused on.
func emptyForms(p store.Pull) pullForms {
	return pullForms{proof: newSheet(nil), said: newSheet(nil), photo: newSheet(nil), limits: newSheet(nil), review: newSheet(nil), version: p.Version}
}

// showPull shows a pull.
func (s *server) showPull(w http.ResponseWriter, r *http.Request, p store.Pull, c store.Cell, f pullForms) error {
	u := chosen(r).Unit
	told, err := s.result(r.Context(), p, c.Name, u)
	if err != nil {
		return err
	}
	if err := s.advise(r.Context(), p.ID, told.Verdicts); err != nil {
		return err
	}
	v := pullView{
		result: told, Version: f.version, Measured: measured(p.Found, u), Terms: terms(p.Found, u),
		Stale: f.stale, Wrong: !f.said.good(), Token: s.tokenIn(r.Context()), Zoom: zoomOf(p, u),
		Sheet: s.dateOf(p.Found.Start),
	}
	v.Known, v.Apart = accountFields(f.said, p), apart(p)
	if !visitorOf(r.Context()).Operator() {
		v.Told = filledIn(v.Known)
	}
	if v.Outdated, err = s.stalePull(r.Context(), p, c); err != nil {
		return err
	}
	if v.Again, err = s.measuredAgain(r.Context(), p, c, u); err != nil {
		return err
	}
	if v.Undo, v.UndoOf, err = s.undoable(r, p); err != nil {
		return err
	}
	v.Before = strings.Join(v.Undo, "; ")
	if v.Readings, err = s.hasReadings(r.Context(), p); err != nil {
		return err
	}
	if v.RigStep, err = s.rigStep(r, p); err != nil {
		return err
	}
	if p.Aside == nil {
		if v.Proof, err = s.proofStep(r, p, told, f.proof); err != nil {
			return err
		}
	}
	v.Photos, v.Photo = photosOf(p), photoField(f.photo)
	v.Limits = s.limitsView(p, f, u)
	if v.Review, err = s.reviewView(r.Context(), p, f); err != nil {
		return err
	}
	v.Zoom.Limits, v.Zoom.Parting = v.Limits, v.Limits != nil
	status := formStatus(f.said, f.stale != nil || f.limitsStale != nil || f.reviewStale != nil)
	for _, other := range []*sheet{f.proof, f.photo, f.limits, f.review} {
		if status == http.StatusOK {
			status = formStatus(other, false)
		}
	}
	return s.showAs(w, r, status, "pull", text("pull.title", p.ID), v)
}

// pullResult is the result alone, for the live page.
func (s *server) pullResult(w http.ResponseWriter, r *http.Request) error {
	p, _, told, err := s.pullTold(r)
	if err != nil {
		return err
	}
	if err := s.askAbout(r, &told, p); err != nil {
		return err
	}
	return s.fragment(w, r, "line", "result", told)
}

// editPull keeps what a person says of a pull.
func (s *server) editPull(w http.ResponseWriter, r *http.Request) error {
	p, c, err := s.pullAsked(r)
	if err != nil {
		return err
	}
	f := newSheet(r.PostForm)
	k := s.pullKeeper(f)
	k.show = func(d store.Document[account], st *stale) error {
		forms := emptyForms(p)
		forms.said, forms.stale, forms.version = f, st, d.Version
		return s.showPull(w, r, p, c, forms)
	}
	return k.keep(s, w, r, f, p.ID)
}

// undoable finds the last change that a person made to p and says what
// undoing it would bring back. What the analysis measured anew since does not
// count, and is not taken back: see store.Undo.
func (s *server) undoable(r *http.Request, p store.Pull) ([]string, int64, error) {
	changes, err := s.Store.Journal(r.Context(), "pull", p.ID, 20)
	if err != nil {
		return nil, 0, err
	}
	for _, c := range changes {
		if len(c.After) == 0 {
			continue
		}
		if len(c.Before) == 0 {
			return s.undoMade(p, c)
		}
		var before, after store.Pull
		if err := errors.Join(json.Unmarshal(c.Before, &before), json.Unmarshal(c.After, &after)); err != nil {
			return nil, 0, err
		}
		if len(s.differences(before, after)) > 0 {
			return s.differences(before, p), c.ID, nil
		}
	}
	return nil, 0, nil
}

// undoMade says what undoing the first change of a pull would bring back: of
// one that a person made, that it is set aside.
func (s *server) undoMade(p store.Pull, c store.Change) ([]string, int64, error) {
	switch l := p.Limits; {
	case l == nil || !l.Made || p.Aside != nil:
		return nil, 0, nil
	case l.Of != 0:
		return []string{text("undo.parted", l.Of)}, c.ID, nil
	}
	return []string{text("undo.made")}, c.ID, nil
}

func (s *server) differences(before, now store.Pull) []string {
	var out []string
	switch a := before.Aside; {
	case (a == nil) == (now.Aside == nil):
	case a == nil:
		out = append(out, text("undo.counted"))
	default:
		out = append(out, text("undo.aside"))
	}
	switch l := before.Limits; {
	case limitsOf(before) == limitsOf(now) || l == nil && now.Limits == nil:
	case l == nil:
		out = append(out, text("undo.limits.found"))
	default:
		out = append(out, text("undo.limits", s.clockOf(l.From), s.clockOf(l.To)))
	}
	if before.Kind != now.Kind {
		out = append(out, text("undo.kind", kindName(before.Kind)))
	}
	if before.Ground != now.Ground {
		ground := before.Ground
		if ground == "" {
			ground = text("undo.none")
		}
		out = append(out, text("undo.ground", ground))
	}
	if !reflect.DeepEqual(before.Rig, now.Rig) {
		out = append(out, text("undo.rig", rigWords(before)))
	}
	if before.Notes != now.Notes {
		out = append(out, text("undo.notes"))
	}
	if !slices.Equal(before.Photos, now.Photos) {
		out = append(out, text("undo.photos", len(before.Photos)))
	}
	return append(out, knownDifferences(before, now)...)
}

func errorsIsNotFound(err error) bool { return errors.Is(err, store.ErrNotFound) }

// window is a stretch of time asked for in the address.
func window(r *http.Request, from, to int64) (int64, int64, error) {
	q := r.URL.Query()
	for name, v := range map[string]*int64{"from": &from, "to": &to} {
		if s := q.Get(name); s != "" {
			n, err := number(s, name)
			if err != nil {
				return 0, 0, err
			}
			*v = n
		}
	}
	const year = int64(366 * 24 * time.Hour)
	if from >= to || from < 0 || to-from > year {
		return 0, 0, refuse(http.StatusBadRequest, text("refused.window"))
	}
	return from, to, nil
}
