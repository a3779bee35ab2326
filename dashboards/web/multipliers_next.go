package web

import (
	"context"
	"errors"
	"fmt"
	"math"
	"net/http"
	"strings"

	"tautlog/analysis/plan"
	"tautlog/analysis/pull"
	"tautlog/analysis/shock"
	"tautlog/calc/unit"
	"tautlog/dashboards/logbook"
)

// nextView is the plan of a test day.
type nextView struct {
	From   string // whose pulls it is planned from, where another set is in use
	Groups []group
	Wrongs []wrongField
	Day    *dayView
	Waits  bool // it is being worked out
}

// cautioned: the cautions stand under the pulls to make.
func (nextView) cautioned() {}

// dayView is a test day, told.
type dayView struct {
	Target   string
	Story    []string
	Pulls    []row
	After    []string
	Excluded []row
	Notes    []string
}

// next says which pulls would tell most, and which must not be made.
func (s *server) next(w http.ResponseWriter, r *http.Request) error {
	d, err := s.desk(r.Context(), r.URL.Query(), chosen(r).Unit)
	if err != nil {
		return err
	}
	var v nextView
	if ask, story := readNext(d); ask != nil {
		question := fmt.Sprintf("next %+v", *ask)
		n, there, err := s.book.Answer(r.Context(), question, func(ctx context.Context, t logbook.Told) (any, error) {
			return answerNext(ctx, *ask, t.Fitted)
		})
		if err != nil {
			return err
		}
		if v.Waits = !there; there {
			v.Day = d.tellNext(n.(nextAnswer), story)
		} else {
			w.Header().Set("Refresh", askAgain)
		}
	}
	if d.inUse.Fit != nil {
		v.From = text("next.fromlog", d.inUse.Label())
	}
	v.Groups = nextForm(d)
	v.Wrongs = d.wrongs(v.Groups)
	return s.show(w, r, "next", text("next.title"), v)
}

func nextForm(d *desk) []group {
	return []group{{Title: text("page.multipliers.next.the-limit"), Fields: d.set(
		d.rigField(text("page.multipliers.next.limit.means")),
		entry{Name: "limit", Label: text("page.multipliers.next.limit"), HintOf: "page.multipliers.next.limit.hint", Like: []unit.Force{45e3}},
		entry{Name: "count", Label: text("page.multipliers.next.count"), Hint: text("page.multipliers.next.count.hint")},
	)}, {Title: text("page.multipliers.next.target"), Fields: d.set(
		entry{Name: "ground", Label: text("page.multipliers.next.ground"), Suggest: d.grounds(), Hint: text("page.multipliers.next.ground.hint")},
		entry{Name: "strap", Label: text("page.multipliers.next.strap"), Suggest: d.straps(), Hint: text("page.multipliers.next.strap.hint")},
		entry{Name: "speed", Label: text("page.multipliers.next.speed"), Hint: text("page.multipliers.next.speed.hint")},
		entry{Name: "puller-mass", Label: text("page.multipliers.next.puller"), Hint: text("page.multipliers.next.puller.hint")},
		entry{Name: "stuck-mass", Label: text("page.multipliers.next.stuck"), Hint: text("page.multipliers.next.stuck.hint")},
	)}, {Title: text("page.multipliers.next.offer"), More: true, Fields: d.set(
		entry{Name: "with-strap", Label: text("page.multipliers.next.straps"), HintOf: "page.multipliers.next.straps.hint", Like: []unit.Force{110e3}, Area: true, Most: 1000},
		entry{Name: "with-speed", Label: text("page.multipliers.next.speeds"), Hint: text("page.multipliers.next.speeds.hint")},
		entry{Name: "with-ground", Label: text("page.multipliers.next.grounds"), Hint: text("page.multipliers.next.grounds.hint")},
		entry{Name: "assumed", Label: text("page.multipliers.next.assumed"), Hint: text("page.multipliers.next.assumed.hint")},
	)}}
}

// readNext reads the form; nil where it was not filled in, or something is
// refused. The story is what there is to say of the limit.
func readNext(d *desk) (ask *shock.NextAsk, story []string) {
	if !d.sent() {
		return nil, nil
	}
	ask = &shock.NextAsk{Count: d.count("count", 1, 50, 0)}
	ask.Target = shock.Pull{Class: shock.Class{Kind: pull.Kinetic, Ground: d.text("ground"), Strap: d.typed("strap")}}
	ask.Target.Speed, _ = quantity(d.sheet, "speed", "speed", unit.ParseSpeed, above)
	ask.Target.Puller, _ = quantity(d.sheet, "puller-mass", "mass", unit.ParseMass, above)
	ask.Target.Reference, _ = quantity(d.sheet, "stuck-mass", "mass", unit.ParseMass, above)
	ask.Assumed, _ = quantity(d.sheet, "assumed", "multiplier", plain, above)
	ask.Offer = readOffer(d.sheet)
	if ask.Limit, story = limitOf(d); !d.good() {
		return nil, nil
	}
	return ask, story
}

// readOffer reads what the club can pull with.
func readOffer(f *sheet) (o shock.Offer) {
	for line := range strings.SplitSeq(f.typed("with-strap"), "\n") {
		if strings.TrimSpace(line) == "" {
			continue
		}
		strap, err := shock.ParseOffered(line)
		if err != nil {
			f.refuse("with-strap", sentence(err.Error()))
		}
		o.Straps = append(o.Straps, strap)
	}
	for _, t := range f.listed("with-speed") {
		v, err := unit.ParseSpeed(t)
		switch {
		case err != nil:
			f.refuse("with-speed", sentence(err.Error()))
		case !(v > 0):
			f.refuse("with-speed", text("field.zero", quantityWords("speed")))
		}
		o.Speeds = append(o.Speeds, v)
	}
	o.Grounds = f.listed("with-ground")
	return o
}

// nextAnswer is a test day, or why there is none.
type nextAnswer struct {
	plan shock.NextPlan
	none error
}

func answerNext(ctx context.Context, ask shock.NextAsk, f *shock.Fitted) (nextAnswer, error) {
	ask.Fitted = f
	n, err := shock.NextUntil(ctx, ask)
	if errors.Is(err, shock.ErrNext) {
		return nextAnswer{none: err}, nil
	}
	return nextAnswer{plan: n}, err
}

// tellNext tells a test day; nil where there is none, which the form then says.
func (d *desk) tellNext(n nextAnswer, story []string) *dayView {
	if n.none != nil {
		d.refuse("ground", sentence(n.none.Error()))
		return nil
	}
	v := tellDay(n.plan, d.unit)
	v.Story = append(story, v.Story...)
	return v
}

// askAgain is after how many seconds a browser asks again for a page whose
// answer is being worked out.
const askAgain = "3"

// limitOf is the force that no pull of the day may pass: the one that was
// written, or the first limit of the rig, whichever is less.
func limitOf(d *desk) (unit.Force, []string) {
	g := d.rig(d.sheet, false)
	limit, given := quantity(d.sheet, "limit", "force", unit.ParseForce, above)
	if !given {
		limit = unit.Force(math.Inf(1))
	}
	if g == nil {
		if !given {
			d.refuse("limit", text("next.nolimit", likeForce(45e3, d.unit)))
		}
		return limit, nil
	}
	l, err := plan.LargestPull(*g, "", pull.Kinetic, d.unit)
	if err != nil {
		d.refuse("rig", text("notjudged", err))
		return limit, nil
	}
	if limit = min(limit, l.Force); math.IsInf(float64(limit), 1) {
		d.refuse("limit", text("next.unlimited", likeForce(45e3, d.unit)))
	}
	return limit, l.Text(d.unit)
}

// tellDay tells a test day.
func tellDay(n shock.NextPlan, u unit.ForceUnit) *dayView {
	v := &dayView{Target: pullWords(n.Target), Notes: n.Notes()}
	if n.Now != nil {
		v.Story = append(v.Story, text("next.now", about(*n.Now, u), n.By.Words()))
	}
	if n.Then != nil {
		v.Story = append(v.Story, text("next.then", about(*n.Then, u)))
	}
	if n.DoubtNow > 0 {
		v.Story = append(v.Story, text("next.doubt", 100*math.Expm1(n.DoubtNow), 100*math.Expm1(n.DoubtThen)))
	}
	for _, p := range n.Pulls {
		one := row{Name: count("next.times", p.Count, pullWords(p.Pull)), Says: text("next.upper", about(p.Upper, u), p.Basis.Words(), 100*p.Share, about(n.Limit, u))}
		if p.Expected != nil {
			one.Says = text("next.expected", about(*p.Expected, u)) + " " + one.Says
		}
		v.Pulls = append(v.Pulls, one)
	}
	for _, d := range n.Days {
		on := text("next.same")
		if !d.Same {
			on = count("next.days", d.Days)
		}
		v.After = append(v.After, count("next.after", d.Pulls, on, d.Upper))
	}
	seen := map[string]bool{}
	for _, p := range n.Excluded {
		if key := p.Pull.Class.String(); !seen[key] {
			seen[key] = true
			v.Excluded = append(v.Excluded, row{Name: text("next.faster", pullWords(p.Pull)), Says: sentence(p.Why(u))})
		}
	}
	return v
}

// pullWords names a pull that is not made yet.
func pullWords(p shock.Pull) string {
	if p.Speed > 0 {
		return text("next.pull", p.Class, p.Speed)
	}
	return p.Class.String()
}
