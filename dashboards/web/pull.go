package web

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"strings"
	"time"

	"tautlog/analysis/pull"
	"tautlog/ingest/store"
)

// pullView is the page of one pull.
type pullView struct {
	result
	Version  int64
	Measured []fact
	Terms    []fact
	Kinds    []pull.Kind
	KindNow  pull.Kind
	Known    []entry  // what only a person can know
	Apart    string   // where that and the trace disagree
	Undo     []string // what undoing the last change would bring back
	UndoOf   int64
	Proof    *proofStep // keeps it as proof of a point; nil for another kind of pull
	Token    string
	Zoom     zoomView
	Sheet    string // the date in the address of its day sheet
}

// cautioned: the cautions stand under the peak.
func (pullView) cautioned() {}

func (s *server) pullAsked(r *http.Request) (store.Pull, store.Cell, error) {
	id, err := number(r.PathValue("id"), "a pull")
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
	return s.showPull(w, r, p, c, newSheet(nil))
}

// showPull shows a pull, with the form that keeps it as proof as it was typed
// where it was refused.
func (s *server) showPull(w http.ResponseWriter, r *http.Request, p store.Pull, c store.Cell, f *sheet) error {
	u := chosen(r).Unit
	told, err := s.result(r.Context(), p, c.Name, u)
	if err != nil {
		return err
	}
	v := pullView{
		result: told, Version: p.Version, Measured: measured(p.Found, u), Terms: terms(p.Found, u),
		Kinds: kinds(), KindNow: p.Kind, Token: s.tokenIn(r.Context()), Zoom: zoomOf(p, u),
		Sheet: s.dateOf(p.Found.Start),
	}
	v.Known, v.Apart = knownFields(newSheet(nil), p), apart(p)
	if v.Undo, v.UndoOf, err = s.undoable(r, p); err != nil {
		return err
	}
	if v.Proof, err = s.proofStep(r, p, told, f); err != nil {
		return err
	}
	return s.showAs(w, r, formStatus(f, false), "pull", text("pull.title", p.ID), v)
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
	return s.fragment(w, "line", "result", told)
}

// editPull keeps what a person says of a pull.
func (s *server) editPull(w http.ResponseWriter, r *http.Request) error {
	p, _, err := s.pullAsked(r)
	if err != nil {
		return err
	}
	kind := pull.Kind(r.PostForm.Get("kind"))
	if !knownKind(kind) {
		return refuse(http.StatusBadRequest, text("refused.kind", kind))
	}
	version, err := number(r.PostForm.Get("version"), "the version")
	if err != nil {
		return err
	}
	if version != p.Version {
		return store.ErrConflict
	}
	p.Kind, p.Ground, p.Notes = kind, r.PostForm.Get("ground"), r.PostForm.Get("notes")
	f := newSheet(r.PostForm)
	if readKnown(f, &p); !f.good() {
		return refuse(http.StatusBadRequest, text("refused.known", strings.Join(f.all(), " ")))
	}
	return s.keep(w, r, p)
}

func (s *server) keep(w http.ResponseWriter, r *http.Request, p store.Pull) error {
	if _, err := s.Store.SavePull(r.Context(), p); err != nil {
		return err
	}
	http.Redirect(w, r, "/pulls/"+r.PathValue("id"), http.StatusSeeOther)
	return nil
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
		if len(c.Before) == 0 || len(c.After) == 0 {
			continue
		}
		var before, after store.Pull
		if err := errors.Join(json.Unmarshal(c.Before, &before), json.Unmarshal(c.After, &after)); err != nil {
			return nil, 0, err
		}
		if len(differences(before, after)) > 0 {
			return differences(before, p), c.ID, nil
		}
	}
	return nil, 0, nil
}

func differences(before, now store.Pull) []string {
	var out []string
	if before.Kind != now.Kind {
		out = append(out, text("undo.kind", before.Kind))
	}
	if before.Ground != now.Ground {
		ground := before.Ground
		if ground == "" {
			ground = text("undo.none")
		}
		out = append(out, text("undo.ground", ground))
	}
	if before.Notes != now.Notes {
		out = append(out, text("undo.notes"))
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
