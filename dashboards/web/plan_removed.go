package web

import (
	"net/http"
)

// removedPlan is a kept plan that was just removed.
type removedPlan struct {
	ID   int64
	Name string
}

// removePlan takes a kept plan out of the list.
func (s *server) removePlan(w http.ResponseWriter, r *http.Request) error {
	id, err := number(r.PathValue("id"), text("number.plan"))
	if err != nil {
		return err
	}
	if err := s.Store.Remove(r.Context(), "plan", id, 0); err != nil {
		return err
	}
	http.Redirect(w, r, "/plan?removed="+r.PathValue("id"), http.StatusSeeOther)
	return nil
}

// removedAsked is the plan that the address says was removed; nil where it is
// none, or was brought back.
func (s *server) removedAsked(r *http.Request, kept []keptRow) (*removedPlan, error) {
	ref := r.URL.Query().Get("removed")
	if ref == "" {
		return nil, nil
	}
	id, err := number(ref, "a plan")
	if err != nil {
		return nil, err
	}
	for _, k := range kept {
		if k.ID == id {
			return nil, nil
		}
	}
	d, err := s.Store.Plan(r.Context(), id)
	if err != nil {
		return nil, err
	}
	return &removedPlan{id, d.Value.Name}, nil
}

// bringPlanBack undoes the last change of a kept plan, if it was its removal.
func (s *server) bringPlanBack(w http.ResponseWriter, r *http.Request) error {
	id, err := number(r.PathValue("id"), text("number.plan"))
	if err != nil {
		return err
	}
	last, err := s.Store.Journal(r.Context(), "plan", id, 1)
	if err != nil {
		return err
	}
	if len(last) == 0 || len(last[0].After) > 0 {
		return refuse(http.StatusNotFound, text("refused.back"))
	}
	if _, err := s.Store.Undo(r.Context(), last[0].ID); err != nil {
		return err
	}
	http.Redirect(w, r, "/plan/kept/"+r.PathValue("id"), http.StatusSeeOther)
	return nil
}
