package web

import (
	"context"
	"net/http"
	"net/url"

	"tautlog/calc/unit"
	"tautlog/dashboards/logbook"
)

// planner is one way to plan a pull.
type planner struct {
	kind  string // also the last part of its address
	about string // what it plans
	// form lists the fields, work plans with what was filled in. Work gives
	// nothing where something is missing or refused, which the sheet then says.
	form func(*desk) []group
	work func(*desk) (*answer, error)
	fits bool // it asks what was fitted of a set
}

// desk is where a pull is planned: the form, the register, and how forces are
// shown.
type desk struct {
	*sheet
	register
	today   string         // the date, as documents have it
	stretch string         // of the strap that the form names, as the set knows it; empty: it does not
	inUse   logbook.Head   // the set that is planned with
	sets    []logbook.Head // all that were kept
	with    logbook.Told   // the one that the form names, or that in use, once it was filled in
}

var planners = []planner{
	{kind: "kinetic", about: "plan.kinetic", form: kineticForm, work: workKinetic, fits: true},
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
	d := &desk{sheet: newSheet(q).in(u), today: s.dateOf(s.Now().UnixNano())}
	var err error
	if d.register, err = s.register(ctx, d.typed("rig")); err != nil {
		return nil, err
	}
	if d.inUse, err = s.book.InUse(ctx); err != nil {
		return nil, err
	}
	if d.sets, err = s.book.Sets(ctx); err != nil || !d.sent() {
		return d, err
	}
	ref := d.inUse.Ref()
	if named, ok := d.named(); ok {
		ref = named.Ref()
	}
	d.with, err = s.book.OfSet(ctx, ref)
	return d, err
}

// worked is a plan with what the register says today against the items of its
// rig; nil where the form has not enough for one.
func (s *server) worked(ctx context.Context, p planner, d *desk) (*answer, error) {
	t, err := p.work(d)
	if err != nil || t == nil || t.Judged == nil {
		return t, err
	}
	t.Unfit, err = s.unfit(ctx, t.Judged.Rig, d.unit)
	return t, err
}

// planView is the page of one way to plan.
type planView struct {
	Kind, Title, About string
	Groups             []group
	Wrongs             []wrongField
	Answer             *answerView
	Waits              string // what is being worked out before there can be an answer
	Inputs             string // what was filled in, for keeping it
	Token              string
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
	v := planView{Kind: p.kind, Title: text("plan." + p.kind + ".title"), About: text(p.about), Inputs: r.URL.RawQuery, Token: s.tokenIn(r.Context())}
	if d.sent() && p.fits && d.with.Behind {
		v.Waits = count("plan.waits", d.with.Pulls, d.with.Kept.Label())
		w.Header().Set("Refresh", askAgain)
	} else if d.sent() {
		t, err := s.worked(r.Context(), p, d)
		if err != nil {
			return err
		}
		if t != nil {
			v.Answer = t.view()
		}
	}
	v.Groups = p.form(d)
	v.Wrongs = d.wrongs(v.Groups)
	return s.show(w, r, "planform", v.Title, v)
}
