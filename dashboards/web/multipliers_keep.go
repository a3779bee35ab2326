package web

import (
	"cmp"
	"errors"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"tautlog/analysis/pull"
	"tautlog/analysis/shock"
	"tautlog/calc/words"
	"tautlog/dashboards/logbook"
)

// keepSet fits the log as it is today and keeps that as a new version.
func (s *server) keepSet(w http.ResponseWriter, r *http.Request) error {
	ref := cmp.Or(r.PostForm.Get("of"), theLog)
	if ref != theLog && someOf(ref) == nil {
		return refuse(http.StatusBadRequest, text("refused.noset", ref))
	}
	shown, err := s.shown(r.Context(), ref, logbook.Head{})
	if err != nil {
		return err
	}
	t := shown.Told
	if t.Behind {
		return notYet(t)
	}
	k := t.Fitted.Keep(r.PostForm.Get("name"))
	k.Note = strings.TrimSpace(r.PostForm.Get("note"))
	return s.saveSet(w, r, k, t.Fitted)
}

// assumeSet keeps a multiplier that somebody states, beside those of the same
// set that are stated already, or instead of them.
func (s *server) assumeSet(w http.ResponseWriter, r *http.Request) error {
	f := newSheet(r.PostForm)
	m := needed(f, "multiplier", "multiplier", "3", plain, above)
	if !f.good() {
		return refuse(http.StatusBadRequest, text("refused.multiplier", f.wrong["multiplier"]))
	}
	kind := pull.Kind(f.typed("kind"))
	if kind != "" && !knownKind(kind) {
		return refuse(http.StatusBadRequest, text("refused.kind", kind))
	}
	a := shock.Assumption{Class: shock.ClassName{Kind: kind, Ground: f.typed("ground"), Strap: f.typed("strap")}, Multiplier: m, Source: f.typed("source")}
	k := shock.Kept{Name: f.typed("name"), Note: f.typed("note"), Assumed: []shock.Assumption{a}}
	latest, err := s.Store.Set(r.Context(), k.Name, 0)
	if ignoreMissing(err) != nil {
		return err
	}
	for _, old := range latest.Assumed {
		if f.typed("instead") == "" && old.Class != a.Class {
			k.Assumed = append(k.Assumed, old)
		}
	}
	return s.saveSet(w, r, k, nil)
}

// saveSet keeps a set, with what was fitted of its pulls, if any.
func (s *server) saveSet(w http.ResponseWriter, r *http.Request, k shock.Kept, fitted *shock.Fitted) error {
	k, err := s.Store.SaveSet(r.Context(), k)
	if errors.Is(err, shock.ErrKept) {
		return refuse(http.StatusBadRequest, text("refused.set", sentence(reason(err))))
	} else if err != nil {
		return err
	}
	if fitted != nil {
		s.book.Kept(k, fitted)
	}
	http.Redirect(w, r, "/multipliers?set="+url.QueryEscape(setName(k)), http.StatusSeeOther)
	return nil
}

// reason is what Kept.Check says, without what was wrapped around it.
func reason(err error) string {
	_, why, ok := strings.Cut(err.Error(), shock.ErrKept.Error()+": ")
	if !ok {
		return err.Error()
	}
	return why
}

// useSet chooses the set that is planned with.
func (s *server) useSet(w http.ResponseWriter, r *http.Request) error {
	name, version, ok := cutSet(r.PostForm.Get("set"))
	if !ok {
		return refuse(http.StatusNotFound, text("refused.noset", r.PostForm.Get("set")))
	}
	if _, err := s.Store.PlanWith(r.Context(), name, version); err != nil {
		return err
	}
	http.Redirect(w, r, "/multipliers", http.StatusSeeOther)
	return nil
}

// cutSet takes name and version out of what setName makes of them.
func cutSet(ref string) (name string, version int, ok bool) {
	at := strings.LastIndex(ref, "@")
	if at < 0 {
		return "", 0, false
	}
	version, err := strconv.Atoi(ref[at+1:])
	return ref[:at], version, err == nil
}

// madeAt is when a set was made, as it is shown.
func (s *server) madeAt(made string) string {
	t, err := time.Parse(time.RFC3339, made)
	if err != nil {
		return made
	}
	return words.DateAt(t.In(s.Zone), "15:04")
}
