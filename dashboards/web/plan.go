package web

import (
	"context"
	"net/http"
	"net/url"

	"tautlog/calc/unit"
)

// planner is one way to plan a pull.
type planner struct {
	kind  string // also the last part of its address
	about string // what it plans
	// form lists the fields, work plans with what was filled in. Work gives
	// nothing where something is missing or refused, which the sheet then says.
	form func(*desk) []group
	work func(*desk) (*answer, error)
}

// desk is where a pull is planned: the form, the register, and how forces are
// shown.
type desk struct {
	*sheet
	register
	unit unit.ForceUnit
}

var planners = []planner{
	{kind: "steady", about: "plan.steady", form: steadyForm, work: workSteady},
	{kind: "force", about: "plan.force", form: forceForm, work: workForce},
}

func plannerOf(kind string) (planner, error) {
	for _, p := range planners {
		if p.kind == kind {
			return p, nil
		}
	}
	return planner{}, notHere()
}

func (s *server) desk(ctx context.Context, q url.Values, u unit.ForceUnit) (*desk, error) {
	g, err := s.register(ctx)
	return &desk{newSheet(q), g, u}, err
}

// planView is the page of one way to plan.
type planView struct {
	Kind, Title, About string
	Groups             []group
	Wrongs             int
	Answer             *answerView
}

// cautioned: the cautions stand under the number to plan with.
func (v planView) cautioned() {}

// planForm is a form and, where it was filled in, its answer. It is asked for
// with GET, so that a plan is a link.
func (s *server) planForm(w http.ResponseWriter, r *http.Request) error {
	p, err := plannerOf(r.PathValue("kind"))
	if err != nil {
		return err
	}
	d, err := s.desk(r.Context(), r.URL.Query(), chosen(r).Unit)
	if err != nil {
		return err
	}
	v := planView{Kind: p.kind, Title: text(p.about + ".title"), About: text(p.about)}
	if d.sent() {
		t, err := p.work(d)
		if err != nil {
			return err
		}
		if t != nil {
			v.Answer = t.view()
		}
	}
	v.Groups, v.Wrongs = p.form(d), len(d.wrong)
	return s.show(w, r, "planform", v.Title, v)
}

// plan offers the ways to plan a pull.
func (s *server) plan(w http.ResponseWriter, r *http.Request) error {
	return s.show(w, r, "plan", text("plan.title"), nil)
}
