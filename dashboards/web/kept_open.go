package web

import (
	"context"
	"errors"
	"net/http"
	"path/filepath"
	"slices"

	"tautlog/ingest/store"
)

// otherStore is a store beside the own one, as the page lists it.
type otherStore struct {
	Name  string
	Shown bool // it is shown to this browser
}

// otherStores are the stores in the directories beside that of the own one, dir.
func (s *server) otherStores(r *http.Request, dir string) (all []otherStore) {
	s.brought.mu.RLock()
	defer s.brought.mu.RUnlock()
	for _, name := range store.Neighbours(dir) {
		shown := s.brought.mark != "" && s.brought.mark == visitedMark(r) && s.brought.server.instead == name
		all = append(all, otherStore{name, shown})
	}
	return all
}

// openOther shows a store beside the own one to this browser. It is opened for
// documents, not for readings: the own one goes on being recorded into.
func (s *server) openOther(w http.ResponseWriter, r *http.Request) error {
	name := r.PostForm.Get("name")
	dir, err := filepath.Abs(s.Store.Dir())
	if err != nil {
		return err
	}
	if !slices.Contains(store.Neighbours(dir), name) {
		return refuse(http.StatusNotFound, text("refused.nostore", name))
	}
	s.brought.mu.Lock()
	defer s.brought.mu.Unlock()
	if s.brought.mark == "" || s.brought.server.instead != name {
		if err := s.openBrought(r.Context(), dir, name); err != nil {
			return err
		}
	}
	s.brought.lookAt(w)
	http.Redirect(w, r, "/pulls", http.StatusSeeOther)
	return nil
}

// openBrought opens a store beside the own one in place of the one that was
// looked at before. The lock is held.
func (s *server) openBrought(ctx context.Context, dir, name string) error {
	other := filepath.Join(filepath.Dir(dir), name)
	st, err := store.OpenEditor(other, store.Options{})
	if err != nil {
		return refuse(http.StatusConflict, text("refused.cannotopen", sentence(err.Error())))
	}
	invented := false
	if s.MadeUp != nil {
		if invented, err = s.MadeUp(ctx, st, other); err != nil {
			return errors.Join(err, st.Close())
		}
	}
	s.endBrought()
	shown := s.brought.serve(s, st, invented, st.Close)
	shown.instead, shown.own = name, filepath.Base(dir)
	s.Log.Info("another store is looked at", "dir", other)
	return nil
}

// backToOwn has this browser look at the own store again. An operator closes the
// other one, for everybody.
func (s *server) backToOwn(w http.ResponseWriter, r *http.Request) error {
	lookAway(w)
	if visitorOf(r.Context()).Operator() {
		s.closeBrought()
	}
	http.Redirect(w, r, "/", http.StatusSeeOther)
	return nil
}

func (s *server) closeBrought() {
	s.brought.mu.Lock()
	defer s.brought.mu.Unlock()
	s.endBrought()
}

// endBrought closes the other store. The lock is held.
func (s *server) endBrought() {
	if err := s.brought.end(); err != nil {
		s.Log.Warn("a store that was looked at could not be closed", "err", err)
	}
}
