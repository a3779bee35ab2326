package shock

import (
	"cmp"
	"context"
	"math"
	"slices"

	"tautlog/analysis/pull"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// NextAsk asks which pulls to make next.
type NextAsk struct {
	// Pulls are those logged so far.
	Pulls []Pull
	// Fitted is what was fitted from them, where that was done already.
	Fitted *Fitted
	// Target is the pull that is to be planned some day and whose bound is to
	// become narrower. What it leaves open is taken from the log: the class
	// with the widest bound, its latest vehicles, its fastest speed.
	Target Pull
	// Offer is what the club can pull with; what it leaves open is taken from
	// the log.
	Offer Offer
	// Limit is the largest force on the line that is inside every rating.
	Limit unit.Force
	// Count is how many pulls the day has time for; 0 stands for 6.
	Count int
	// Assumed is the multiplier for what nothing is known of; 0 stands for 3,
	// common practice without a source.
	Assumed float64
}

// What stands for a count and an assumed multiplier that were not given.
const (
	NextCount   = 6
	NextAssumed = 3
)

// Basis is what the upper bound of a planned pull rests on.
type Basis string

// Words says it to people.
func (b Basis) Words() string { return words.Say("shock.basis." + string(b)) }

// The bases, the most specific first.
const (
	BySpeed   Basis = "speed fit"
	ByClass   Basis = "class bound"
	ByAssumed Basis = "assumed multiplier"
)

// NextPull is a pull that might be made, or that the plan holds Count times.
type NextPull struct {
	Pull  Pull // class, speed, masses, strap
	Count int
	// Expected is what its peak is expected to be; nil where nothing is known.
	Expected *unit.Force
	// Upper is what its peak stays below, by the basis.
	Upper unit.Force
	Basis Basis
	// Share is Upper over the limit.
	Share float64
	// Gain is by how much one such pull is expected to narrow what is known of
	// the target, as a share of it: 0.1 for a tenth.
	Gain float64
	// First says that nothing is known of such pulls: it is to be slow, and
	// the rest of the day waits for what it shows.
	First bool
}

// Excluded is a pull that is not to be made, and why.
type Excluded struct {
	NextPull
	Reason string     // with forces in the unit that is shown by default
	Limit  unit.Force // which its peak may pass, where that is the reason
}

// Why is the reason with its forces in a unit.
func (e Excluded) Why(u unit.ForceUnit) string {
	if e.Limit == 0 {
		return e.Reason
	}
	return words.Say("shock.next.above", e.Upper.Show(u, 0), e.Limit.Show(u, 0))
}

// NextDay is what is expected of the bound of the target's class after more
// pulls of it.
type NextDay struct {
	Pulls int
	Days  int  // days that they are made on
	Same  bool // on the last day in the log
	Upper float64
}

// NextPlan is a test day.
type NextPlan struct {
	Target Pull
	Limit  unit.Force
	// Pulls are those to make, gentle ones first.
	Pulls []NextPull
	// Allowed are all that might be made, best first; Excluded those that must
	// not.
	Allowed  []NextPull
	Excluded []Excluded
	// By is what the bound of the target rests on.
	By Basis
	// Now is the bound of the target and Then what it is expected to be after
	// the plan; nil where there is none.
	Now, Then *unit.Force
	// Doubt is how uncertain the expected peak of the target is by the speed
	// fit, as the standard deviation of its logarithm, now and as expected
	// after the plan; both 0 where the plan does not rest on the speed fit.
	DoubtNow, DoubtThen float64
	// ClassNow is the bound of the target's class as a multiplier; Days is what
	// is expected of it after more such pulls.
	ClassNow *float64
	Days     []NextDay
	Assumed  float64
}

// ErrNext is what every error of Next unwraps to.
var ErrNext error = words.Kind("shock.next.unproposable")

// Next says which pulls would narrow the bound of the target most while the
// upper bound of their own peak stays at or below the limit. What it says of
// afterwards is what is expected, not what will be.
//
// Where the speed fit knows the target, the pulls are chosen one by one so
// that each makes the variance of the target's expected peak least (see
// design). Where only classes are known, the class is chosen whose pulls are
// expected to narrow the bound of the target's class most (see expectation).
//
// Expectations are hopeful, since they take the spreads as known: of 150 clubs
// of TestNextIsWorthFollowing the bound of the target fell from 46.8 % above its
// true peak to 42.6 %, where 40.5 % was expected, and to 44.5 % by pulls drawn
// from those allowed; no planned pull of 900 was above the limit.
//
// Rules of our own, without a source: of pulls that are within a tenth of the
// best, the one with the lowest expected peak is taken; no pull is more than a
// quarter faster than the fastest with that strap in the log; where nothing is
// known of a strap on a ground, one slow pull is made first, its peak taken to
// be at most the assumed multiplier times the weight, and the rest waits for
// what it shows.
func Next(ask NextAsk) (NextPlan, error) { return NextUntil(context.Background(), ask) }

// NextUntil is Next that gives up with the error of ctx when ctx ends.
func NextUntil(ctx context.Context, ask NextAsk) (plan NextPlan, err error) {
	defer heed(ctx, &err)
	if ask.Count == 0 {
		ask.Count = NextCount
	}
	if ask.Assumed == 0 {
		ask.Assumed = NextAssumed
	}
	if !positive(float64(ask.Limit)) || ask.Count < 0 || !positive(ask.Assumed) {
		return NextPlan{}, words.Error("shock.check.wrong", ErrNext)
	}
	if ask.Fitted == nil {
		if ask.Fitted, err = FitAll(ctx, ask.Pulls); err != nil {
			return NextPlan{}, err
		}
	}
	know := learn(ask.Fitted, ask.Assumed)
	know.done = ctx.Done()
	if len(know.set.Used) == 0 {
		return NextPlan{}, words.Error("shock.fit.nopull", ErrNext)
	}
	target, err := know.target(ask.Target)
	if err != nil {
		return NextPlan{}, err
	}
	offer := ask.Offer.orLogged(know, target)
	for _, s := range offer.Straps {
		if s.Name == target.Class.Strap && target.StrapLength == 0 && target.StrapMBS == 0 {
			target.StrapLength, target.StrapMBS = s.Length, s.MBS
		}
	}
	know.slowest = slices.Min(offer.Speeds)
	plan = NextPlan{Target: target, Limit: ask.Limit, Assumed: ask.Assumed}
	for _, p := range offer.pulls(target) {
		plan.sort(know.foresee(p), know)
	}
	plan.choose(know, ask.Count)
	return plan, nil
}

// sort puts a pull with those that may be made or those that must not.
func (n *NextPlan) sort(p NextPull, know knowledge) {
	p.Share = float64(p.Upper / n.Limit)
	fastest, why := know.fastest[p.Pull.Class.Strap], ""
	switch {
	case p.First && p.Pull.Speed > know.slowest:
		why = words.Say("shock.next.unknown")
	case p.Basis != BySpeed && p.Pull.Speed > max(know.slowest, know.classFastest[p.Pull.Class]):
		why = words.Say("shock.next.faster.class", p.Basis.Words())
	case fastest > 0 && p.Pull.Speed > fastest*stepUp:
		why = words.Say("shock.next.faster.strap", fastest)
	case p.Upper > n.Limit:
		e := Excluded{NextPull: p, Limit: n.Limit}
		e.Reason = e.Why(unit.DefaultShown)
		n.Excluded = append(n.Excluded, e)
		return
	}
	if why == "" {
		n.Allowed = append(n.Allowed, p)
	} else {
		n.Excluded = append(n.Excluded, Excluded{NextPull: p, Reason: why})
	}
}

// stepUp is how much faster than any logged pull with the strap one may be.
const stepUp = 1.25

// choose fills the plan with pulls from those that are allowed.
func (n *NextPlan) choose(know knowledge, count int) {
	if c := know.class(n.Target.Class); c != nil {
		n.ClassNow = c.Upper
	}
	seen := know.foresee(n.Target)
	n.By, n.Now = seen.Basis, &seen.Upper
	if know.speed != nil && n.Target.withoutSpeed() == "" {
		n.bySpeed(know, count)
	} else {
		n.byClass(know, count)
	}
	slices.SortStableFunc(n.Allowed, func(a, b NextPull) int { return cmp.Compare(b.Gain, a.Gain) })
	slices.SortStableFunc(n.Pulls, func(a, b NextPull) int {
		return cmp.Or(cmp.Compare(a.order(), b.order()), cmp.Compare(a.Upper, b.Upper))
	})
	n.Days = know.days(n.Target.Class, count)
}

// order is by what pulls are ordered: the expected peak, or the upper bound
// where nothing is expected.
func (p NextPull) order() unit.Force {
	if p.Expected != nil {
		return *p.Expected
	}
	return p.Upper
}

// add adds one pull to the plan.
func (n *NextPlan) add(p NextPull) {
	same := func(q NextPull) bool { return q.Pull.like(p.Pull) }
	if i := slices.IndexFunc(n.Pulls, same); i >= 0 {
		n.Pulls[i].Count++
		return
	}
	p.Count = 1
	n.Pulls = append(n.Pulls, p)
}

// like tells whether two planned pulls are the same.
func (p Pull) like(q Pull) bool {
	return p.Class == q.Class && p.Speed == q.Speed && p.Puller == q.Puller && p.Reference == q.Reference &&
		p.StrapLength == q.StrapLength && p.StrapMBS == q.StrapMBS
}

// exhausted tells whether the plan may not hold the pull once more.
func (n *NextPlan) exhausted(p NextPull) bool {
	return p.First && slices.ContainsFunc(n.Pulls, func(q NextPull) bool { return q.Pull.Class == p.Pull.Class })
}

// target fills what was left open of the target from the log.
func (k knowledge) target(t Pull) (Pull, error) {
	if t.Class.Kind == "" {
		t.Class.Kind = pull.Kinetic
	}
	if c := k.widest(t.Class); c != nil {
		t.Class = *c
	} else if t.Class.Ground == "" || t.Class.Strap == "" {
		return t, words.Error("shock.check.nopull", ErrNext, words.Say("shock.kind."+string(t.Class.Kind)))
	}
	model, fastest := k.latest(t.Class), k.classFastest[t.Class]
	t.Puller, t.Reference = cmp.Or(t.Puller, model.Puller), cmp.Or(t.Reference, model.Reference)
	t.StrapLength, t.StrapMBS = cmp.Or(t.StrapLength, model.StrapLength), cmp.Or(t.StrapMBS, model.StrapMBS)
	if t.Speed = cmp.Or(t.Speed, fastest, k.fastest[t.Class.Strap], k.fastestOf(t.Class.Kind)); math.IsNaN(float64(t.Speed)) || t.Speed < 0 {
		return t, words.Error("shock.next.speed.wrong", ErrNext)
	}
	if !positive(float64(t.Reference)) {
		return t, words.Error("shock.next.nomass", ErrNext)
	}
	return t, nil
}
