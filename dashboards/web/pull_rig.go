package web

import (
	"errors"
	"net/http"

	"tautlog/ingest/store"
)

// rigStep is the form that says with which rig a pull was made, for one that
// was pulled before anybody had set it, or with a wrong one in force.
type rigStep struct {
	Rigs []store.Name // none: one is to be put together first
}

func (s *server) rigStep(r *http.Request, p store.Pull) (*rigStep, error) {
	names, err := s.Store.RigNames(r.Context())
	if err != nil || !p.Settled {
		return nil, err
	}
	return &rigStep{names}, nil
}

// rigOfPull gives a pull the rig that it was made with, as the register has it
// now.
func (s *server) rigOfPull(w http.ResponseWriter, r *http.Request) error {
	p, _, err := s.pullAsked(r)
	if err != nil {
		return err
	}
	if p.Version, err = versionOf(r); err != nil {
		return err
	}
	id, err := number(r.PostForm.Get("rig"), text("page.pull.a-rig"))
	if err != nil {
		return err
	}
	p.Rig = nil
	if id != 0 {
		doc, err := s.Store.Rig(r.Context(), id)
		if errors.Is(err, store.ErrNotFound) || err == nil && !doc.Removed.IsZero() {
			return refuse(http.StatusNotFound, text("rigofpull.gone"))
		}
		if err != nil {
			return err
		}
		p.Rig = &doc.Value
	}
	if _, err := s.Store.SavePull(s.signed(w, r, "who"), p); err != nil {
		return storeSays(err)
	}
	http.Redirect(w, r, pathOf("pulls", p.ID)+"#rig", http.StatusSeeOther)
	return nil
}

// rigWords names the rig of a pull.
func rigWords(p store.Pull) string {
	switch {
	case p.Rig == nil:
		return text("undo.none")
	case p.Rig.Name == "":
		return text("rigofpull.unnamed")
	}
	return p.Rig.Name
}
