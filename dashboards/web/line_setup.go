package web

import (
	"context"
	"encoding/json"
	"net/http"

	"tautlog/ingest/store"
)

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
