package rating

import (
	"cmp"
	"math"
	"slices"

	"tautlog/analysis/pull"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Judge compares a peak with what every item of the rig may carry. The
// sentences are written in u, or in kN where u is empty; the unit changes no
// verdict. A rig that Validate refuses gives its error, and so does one with two
// cells: see JudgeBy and JudgeBoth.
func Judge(p Peak, r rig.Rig, u unit.ForceUnit) (Result, error) {
	places, err := r.Places()
	if err != nil {
		return Result{}, err
	}
	p.planned = false
	return judgePlaces(p, only(p), places, remarks(r, p.Kind, p.On, u), u), nil
}

// only is the peak of every item where there is one reading.
func only(p Peak) func(rig.Share) Peak { return func(rig.Share) Peak { return p } }

// remarks are those on the rig, and what does not fit in it that no verdict
// says on that day.
func remarks(r rig.Rig, k pull.Kind, on string, u unit.ForceUnit) []string {
	var out []string
	for _, m := range Mismatches(r, k, on, u) {
		if m.Severity != ToKnow && !m.Rule.verdictSays() {
			out = append(out, m.Text)
		}
	}
	return append(out, r.Remarks()...)
}

// JudgePlanned is Judge for a pull that has not been made. The peak is that of
// the line, at the place at of the rig, or of the line as it is hauled where at
// is empty (see rig.LinePlaces), so that the rig needs no cell. High is the peak
// to plan with: items come in the order of their verdicts there.
func JudgePlanned(p Peak, r rig.Rig, at string, u unit.ForceUnit) (Result, error) {
	places, err := r.LinePlaces(at)
	if err != nil {
		return Result{}, err
	}
	p.planned = true
	return judgePlaces(p, only(p), places, remarks(r, p.Kind, p.On, u), u), nil
}

// judgePlaces judges every place by the peak that its share is of; p is what
// the result is called by.
func judgePlaces(p Peak, of func(rig.Share) Peak, places []rig.Place, remarks []string, u unit.ForceUnit) Result {
	u = cmp.Or(u, unit.DefaultShown)
	p = p.finite()
	w := writer{u: u, planned: p.planned}
	res := Result{Peak: p, Unit: u, Verdict: Inside, AtHigh: Inside, Remarks: remarks}
	for _, place := range places {
		it := judge(of(place.Share).finite(), place, w)
		res.Verdict, res.AtHigh = worse(res.Verdict, it.Verdict), worse(res.AtHigh, it.AtHigh)
		res.Items = append(res.Items, it)
	}
	slices.SortStableFunc(res.Items, p.weaker)
	res.Remarks = append(res.Remarks, unrecorded(places)...)
	if !p.bounded() && !p.Open && !p.planned {
		res.Remarks = append(res.Remarks, words.Say("rating.nointerval"))
	}
	res.Summary = w.summary(res)
	return res
}

// unrecorded says which points were taken as pulled in line because neither
// their rating nor the rig says at what angle.
func unrecorded(places []rig.Place) []string {
	var out []string
	for _, p := range places {
		g := p.Use.Item
		if !g.Kind.Fixed() || len(g.Ratings) == 0 || p.Heading.Angle != nil || p.Heading.FullTurn {
			continue
		}
		if !slices.ContainsFunc(g.Ratings, func(r gear.Rating) bool { return r.Direction.Rule != gear.DirectionUnstated }) {
			out = append(out, words.Say("rating.noangle", g.Name))
		}
	}
	return out
}

// weaker orders items: worst verdict, then highest utilisation.
func (p Peak) weaker(a, b Item) int {
	return cmp.Or(
		p.compare(b.Load, a.Load),
		cmp.Compare(known(b.Utilisation), known(a.Utilisation)),
	)
}

// compare orders verdicts: of a measured pull at the reading, of a planned one
// at the peak that is planned for.
func (p Peak) compare(a, b Load) int {
	high := cmp.Compare(a.AtHigh.Rank(), b.AtHigh.Rank())
	if !p.planned {
		high = 0
	}
	return cmp.Or(high, cmp.Compare(a.Verdict.Rank(), b.Verdict.Rank()))
}

// known is the value, or less than any where there is none.
func known(v *float64) float64 {
	if v == nil {
		return -1
	}
	return *v
}

// judge gives the verdict on one item, with its reason.
func judge(p Peak, place rig.Place, w writer) Item {
	it, g, situation := weigh(p, place)
	if len(it.Cases) == 0 {
		it.Reason = w.reason(p, g, situation, it.Load)
	} else {
		it.Reason = w.cases(p, g, situation, it)
	}
	it.Reason = joined(it.Reason, w.stands(it.Mounting)...)
	return it
}

// weigh gives the verdict on one item: in the one case there is, or in both
// where a leg may take all. With it come the item with the ratings that speak
// for it, and how it lay.
func weigh(p Peak, place rig.Place) (Item, gear.Item, gear.Situation) {
	g, mounting := speaking(place)
	it := Item{Ref: place.Ref, ID: g.ID, Name: g.Name, Kind: g.Kind, Where: place.Where, Share: place.Share, Mounting: mounting}
	situation := gear.Situation{Heading: place.Heading, Paired: place.Paired, PairHeading: place.PairHeading}
	s := place.Share
	it.Load = loaded(p, s.Factor, g, situation)
	if !s.Unbounded && s.Alone == nil {
		return it, g, situation
	}
	equal := it.Load
	equal.When = words.Say("rating.when.share")
	other := Load{When: words.Say("rating.when.not"), Limit: equal.Limit, Verdict: NotJudged, AtHigh: NotJudged}
	if !s.Unbounded {
		alone := situation
		alone.Paired = false
		other = loaded(p, *s.Alone, g, alone)
		other.When = words.Say("rating.when.all")
	}
	it.Cases = []Load{equal, other}
	it.Load = p.worseLoad(equal, other)
	// The case that decides at the reading need not be the worse one at the upper
	// end, nor the other way round: nobody knows which case it was.
	it.Verdict, it.AtHigh = worse(equal.Verdict, other.Verdict), worse(equal.AtHigh, other.AtHigh)
	return it, g, situation
}

// worseLoad is the case that decides: the worse verdict at the reading, then
// at the upper end, then the higher load.
func (p Peak) worseLoad(a, b Load) Load {
	if cmp.Or(
		p.compare(a, b),
		cmp.Compare(a.AtHigh.Rank(), b.AtHigh.Rank()),
		cmp.Compare(a.Carried, b.Carried),
	) > 0 {
		return a
	}
	return b
}

// loaded is what an item carried at a factor of the peak, and the verdict on
// it.
func loaded(p Peak, factor float64, g gear.Item, s gear.Situation) Load {
	f := unit.Force(factor)
	l := Load{Known: true, Factor: factor, Carried: f * p.Value, Open: p.Open && factor > 0}
	if p.bounded() {
		l.Low, l.High = f*p.Low, f*p.High
	}
	if unfit(g.Kind, p.Kind) != "" {
		l.Verdict, l.AtHigh = NotRated, NotRated
		if g.Kind.NeverRecovery() {
			return l
		}
	}
	st := g.Strength(s)
	l.limits(st)
	misused := l.Verdict != ""
	l.Verdict, l.AtHigh = verdict(l.Carried, st), verdict(l.highest(), st)
	if l.Open && l.Verdict == Inside {
		l.Verdict = NotJudged
	}
	if misused {
		l.Verdict, l.AtHigh = worse(l.Verdict, NotRated), worse(l.AtHigh, NotRated)
	}
	return l
}

// highest is the most that the load may have been.
func (l Load) highest() unit.Force {
	if l.Open {
		return unit.Force(math.Inf(1))
	}
	return max(l.Carried, l.High)
}

func worse(v, w Verdict) Verdict {
	if v.Worse(w) {
		return v
	}
	return w
}

// unfit names the text that says why gear of this kind has no place in such a
// pull; empty where it has.
func unfit(k gear.Kind, p pull.Kind) string {
	switch {
	case k.NeverRecovery():
		return "rating.unfit.never"
	case k.KineticMisuse() && p == pull.Kinetic:
		return "rating.unfit.jerk"
	}
	return ""
}

// verdict is the answer at one load.
func verdict(f unit.Force, s gear.Strength) Verdict {
	over := func(b *gear.Bound) bool { return b != nil && f > b.Value }
	switch {
	case over(s.Breaking):
		return OverBreaking
	case len(s.Refused) > 0 && (s.Working == nil || !s.Working.Sure):
		return NotRated
	case math.IsNaN(float64(f)):
		return NotJudged
	case over(s.Working), over(s.Ceiling):
		return Over
	case s.Working == nil, !s.Working.Sure:
		return NotJudged
	}
	return Inside
}

// limits notes the limit and how far it was used.
func (l *Load) limits(s gear.Strength) {
	ratio := func(b *gear.Bound) *float64 {
		if b == nil {
			return nil
		}
		v := float64(l.Carried / b.Value)
		return &v
	}
	l.OfWLL, l.OfMBS = ratio(s.WLL), ratio(s.Breaking)
	b := s.Working
	for _, other := range []*gear.Bound{s.Ceiling, s.Breaking} {
		if b == nil || other != nil && other.Value < b.Value {
			b = other
		}
	}
	if b == nil {
		return
	}
	l.Limit = &Limit{Value: b.Value, Basis: b.Rating.Basis, Working: b == s.Working, Text: limitText(*b, b == s.Working), part: b.Fraction != 1, half: b.Halved}
	l.Utilisation = ratio(b)
}

// finite is the peak with an infinite upper end said in another way: it is
// only a lower bound.
func (p Peak) finite() Peak {
	if math.IsInf(float64(p.High), 0) {
		p.Open, p.High = true, max(p.Value, p.Low)
	}
	return p
}

// bounded says whether an interval of the true peak is known.
func (p Peak) bounded() bool { return p.Low != 0 || p.High != 0 }
