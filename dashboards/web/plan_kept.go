package web

import (
	"encoding/json"
	"errors"
	"net/http"
	"net/url"
	"strings"

	"tautlog/analysis/shock"
	"tautlog/calc/unit"
	"tautlog/ingest/store"
)

// keptRow is a kept plan in the list of them.
type keptRow struct {
	ID               int64
	Name, Kind, When string
	Title, Lead      string
}

// plansView is the page on which planning begins.
type plansView struct {
	Kept    []keptRow
	Removed *removedPlan
	Token   string
}

// plan offers the ways to plan a pull, and the plans that were kept.
func (s *server) plan(w http.ResponseWriter, r *http.Request) error {
	docs, err := s.Store.Plans(r.Context())
	if err != nil {
		return err
	}
	v := plansView{Token: s.tokenIn(r.Context())}
	for _, d := range docs {
		t, err := keptAnswer(d)
		if err != nil {
			return err
		}
		v.Kept = append(v.Kept, keptRow{d.ID, d.Value.Name, text("plan.kind." + d.Value.Kind), s.at(d.Updated.UnixNano()), t.Title, t.Lead})
	}
	if v.Removed, err = s.removedAsked(r, v.Kept); err != nil {
		return err
	}
	return s.show(w, r, "plan", text("plan.title"), v)
}

func keptAnswer(d store.Document[store.Plan]) (t answer, err error) {
	err = json.Unmarshal(d.Value.Result, &t)
	return t, err
}

// keepPlan plans once more what the form holds and keeps it as it comes out.
func (s *server) keepPlan(w http.ResponseWriter, r *http.Request) error {
	p, err := plannerOf(r.PathValue("kind"))
	if err != nil {
		return err
	}
	inputs, err := url.ParseQuery(r.PostForm.Get("inputs"))
	if err != nil {
		return refuse(http.StatusBadRequest, text("refused.form"))
	}
	name := strings.TrimSpace(r.PostForm.Get("name"))
	if err := s.freeName(r, name); err != nil {
		return err
	}
	d, err := s.desk(r.Context(), inputs, chosen(r).Unit)
	if err != nil {
		return err
	}
	if p.fits && d.with.Behind {
		return notYet(d.with)
	}
	t, err := s.worked(r.Context(), p, d)
	if err != nil {
		return err
	}
	if t == nil {
		return refuse(http.StatusBadRequest, text("refused.plan"))
	}
	id, err := s.savePlan(r, name, p.kind, inputs, *t)
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/plan/kept/"+plainNumber(float64(id)), http.StatusSeeOther)
	return nil
}

// freeName refuses a name that is none, or that a kept plan has already: what
// is kept is not written over.
func (s *server) freeName(r *http.Request, name string) error {
	if name == "" || len(name) > 200 {
		return refuse(http.StatusBadRequest, text("refused.planname"))
	}
	_, err := s.Store.PlanByName(r.Context(), name)
	if err == nil {
		return refuse(http.StatusConflict, text("refused.plantwice", name))
	}
	return ignoreMissing(err)
}

func (s *server) savePlan(r *http.Request, name, kind string, inputs url.Values, t answer) (int64, error) {
	asked, err := json.Marshal(inputs)
	if err != nil {
		return 0, err
	}
	result, err := json.Marshal(t)
	if err != nil {
		return 0, err
	}
	doc, err := s.Store.SavePlan(r.Context(), store.Document[store.Plan]{
		Value: store.Plan{Name: name, Kind: kind, Inputs: asked, Result: result, Set: t.Set},
	})
	return doc.ID, err
}

// keptView is a plan as it was kept.
type keptView struct {
	ID         int64
	Removed    bool // taken out of the list of plans
	Token      string
	Name, When string
	Set        string // the set it was planned with
	Changed    string // whether another one is in use since
	Again      string // the address that plans it anew
	Unit       unit.ForceUnit
	OtherUnit  bool
	Answer     *answerView
}

// cautioned: the cautions stand under the number to plan with.
func (keptView) cautioned() {}

func (s *server) keptPlan(w http.ResponseWriter, r *http.Request) error {
	id, err := number(r.PathValue("id"), text("number.plan"))
	if err != nil {
		return err
	}
	d, err := s.Store.Plan(r.Context(), id)
	if err != nil {
		return err
	}
	t, err := keptAnswer(d)
	if err != nil {
		return err
	}
	var inputs url.Values
	if err := json.Unmarshal(d.Value.Inputs, &inputs); err != nil {
		return err
	}
	inputs.Del("with")
	removed, err := s.planRemoved(r, d)
	if err != nil {
		return err
	}
	v := keptView{ID: id, Removed: removed, Token: s.tokenIn(r.Context()), Name: d.Value.Name, When: s.at(d.Updated.UnixNano()), Again: "/plan/" + d.Value.Kind + "?" + inputs.Encode(), Unit: t.Unit, Answer: t.view()}
	v.OtherUnit = t.Unit != chosen(r).Unit
	if d.Value.Set.Name != "" {
		if err := s.tellSet(r, d.Value.Set, &v); err != nil {
			return err
		}
	}
	return s.show(w, r, "keptplan", v.Name, v)
}

// planRemoved says whether a plan is not in the list any more.
func (s *server) planRemoved(r *http.Request, d store.Document[store.Plan]) (bool, error) {
	now, err := s.Store.PlanByName(r.Context(), d.Value.Name)
	if errors.Is(err, store.ErrNotFound) {
		return true, nil
	}
	return now.ID != d.ID, err
}

// tellSet says with which set a plan was made, and which is in use now.
func (s *server) tellSet(r *http.Request, ref store.SetRef, v *keptView) error {
	v.Set = shock.Kept{Name: ref.Name, Version: ref.Version}.Label()
	now, err := s.book.InUse(r.Context())
	if err != nil {
		return err
	}
	if _, err := s.book.Head(r.Context(), ref); errors.Is(err, store.ErrNotFound) {
		v.Changed = text("kept.gone", now.Label())
	} else if err != nil {
		return err
	} else if now.Name != ref.Name || now.Version != ref.Version {
		v.Changed = text("kept.changed", now.Label())
	} else {
		v.Changed = text("kept.same")
	}
	return nil
}
