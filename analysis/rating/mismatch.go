package rating

import (
	"cmp"
	"fmt"
	"slices"

	"tautlog/analysis/pull"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
)

// Severity is how much a mismatch weighs, in the words in which it is shown.
// None of them permits a pull.
type Severity string

// The severities, from the lightest to the heaviest.
const (
	ToKnow      Severity = "to know"
	SettleFirst Severity = "settle before the pull"
	DoNotPull   Severity = "do not pull with this"
)

// Severities lists them from the lightest to the heaviest.
func Severities() []Severity { return []Severity{ToKnow, SettleFirst, DoNotPull} }

// MismatchRule names what does not fit. The names do not change.
type MismatchRule string

// The rules.
const (
	StrapRatio     MismatchRule = "strap ratio"      // strap strength outside 2 to 3 times the lighter GVM
	StrapStronger  MismatchRule = "strap stronger"   // than what it pulls on
	KineticMisuse  MismatchRule = "kinetic misuse"   // hardly stretches, in a kinetic pull
	MetalJoin      MismatchRule = "metal join"       // a metal link joins straps
	PairAlone      MismatchRule = "pair alone"       // rated only as a pair, used alone
	NoPoint        MismatchRule = "no point"         // a tie-down, tow eye or tow ball
	InspectionDue  MismatchRule = "inspection due"   // or never made
	InspectionSays MismatchRule = "inspection says"  // unfit, or to watch
	OutOfService   MismatchRule = "out of service"   // quarantined or retired
	PastRule       MismatchRule = "past retire rule" // past the owner's rule
	MountingBent   MismatchRule = "mounting bent"    // by a proof pull
)

// verdictSays says that the verdict on an item, or its reason, says so too.
func (r MismatchRule) verdictSays() bool {
	return slices.Contains([]MismatchRule{KineticMisuse, PairAlone, NoPoint, MountingBent}, r)
}

// Mismatch is gear that does not fit its use, found before a pull.
type Mismatch struct {
	Rule     MismatchRule `json:"rule"`
	Severity Severity     `json:"severity"`
	// Refs are the places in the rig, as in rig.Place, Items their names.
	Refs  []string `json:"refs"`
	Items []string `json:"items"`
	// Text is the sentence, Source where the rule comes from.
	Text   string `json:"text"`
	Source string `json:"source"`
}

// Mismatches lists what does not fit in a rig before a pull of a kind, the
// heaviest first. Without a kind ("") what matters only in a kinetic pull is
// left out; without today ("", else "2026-03-14"), what depends on the day.
// Forces are written in u, in kN where it is empty; it changes no finding. A
// rig that cannot be solved, its cell aside, gives none: Validate says why.
//
// An empty list permits nothing: it knows of what was entered only.
func Mismatches(r rig.Rig, kind pull.Kind, today string, u unit.ForceUnit) []Mismatch {
	return MismatchesUsed(r, kind, today, u, func(gear.Item) gear.Used { return gear.Used{} })
}

// MismatchesUsed is Mismatches where it is known what the items have been
// through, so that the owner's rules on pulls and peaks count too.
func MismatchesUsed(r rig.Rig, kind pull.Kind, today string, u unit.ForceUnit, used func(gear.Item) gear.Used) []Mismatch {
	places, err := r.LinePlaces("")
	if err != nil {
		return nil
	}
	if u == "" {
		u = unit.DefaultShown
	}
	c := checker{rig: r, places: places, kind: kind, today: gear.Date(today), u: u, used: used}
	c.strapRatios()
	c.strongStraps()
	c.joins()
	for _, p := range places {
		c.use(p)
		c.life(p)
	}
	slices.SortStableFunc(c.out, func(a, b Mismatch) int {
		return cmp.Compare(slices.Index(Severities(), b.Severity), slices.Index(Severities(), a.Severity))
	})
	return c.out
}

// checker gathers the mismatches of a rig.
type checker struct {
	rig    rig.Rig
	places []rig.Place
	kind   pull.Kind
	today  gear.Date
	u      unit.ForceUnit
	used   func(gear.Item) gear.Used
	out    []Mismatch
}

func (c *checker) note(rule MismatchRule, s Severity, source, text string, at ...rig.Place) {
	m := Mismatch{Rule: rule, Severity: s, Text: text, Source: source}
	for _, p := range at {
		m.Refs, m.Items = append(m.Refs, p.Ref), append(m.Items, p.Use.Item.Name)
	}
	c.out = append(c.out, m)
}

// Sources of the rules.
const (
	strapStandard  = "Australian consumer safety standard for recovery straps, 2017 (F2017L01560, sections 8 to 11), as its regulator sums it up"
	attachment     = "mandatory warning of the Australian consumer safety standard for recovery straps (2017); coroner's finding, Tasmania 2009"
	noSnatch       = "NZ strap guide (no tow strap for a snatch); US state off-road course (no snatch on chain, wire or winch)"
	commonPractice = "common practice, no source"
	fromRecall     = "common practice, from memory"
	ownRecord      = "what is recorded of the item"
	ownRule        = "the owner's rule"
)

// use finds what an item is used for that it is not made or rated for.
func (c *checker) use(p rig.Place) {
	g := p.Use.Item
	switch {
	case g.Kind.NeverRecovery():
		c.note(NoPoint, DoNotPull, attachment, fmt.Sprintf("%s is %s: it is not a recovery point, whatever is stamped on it.", g.Name, article(g.Kind)), p)
	case g.Kind.KineticMisuse() && c.kind == pull.Kinetic:
		c.note(KineticMisuse, DoNotPull, noSnatch, fmt.Sprintf("%s is %s and hardly stretches: in a kinetic pull the load comes as a jerk.", g.Name, article(g.Kind)), p)
	}
	pair := len(g.Ratings) > 0 && !slices.ContainsFunc(g.Ratings, func(r gear.Rating) bool { return r.Together != gear.Pair })
	switch {
	case pair && !p.Paired:
		c.note(PairAlone, DoNotPull, ownRecord, fmt.Sprintf("%s is rated only as one of a pair through a bridle, and used alone.", g.Name), p)
	case pair && p.Share.Alone != nil:
		c.note(PairAlone, SettleFirst, ownRecord, fmt.Sprintf("%s is rated only as one of a pair, and without an equaliser it may carry all.", g.Name), p)
	}
	if y := g.Fixing.Yielded(); y != nil && g.Kind == gear.Mounting {
		c.note(MountingBent, DoNotPull, ownRecord, fmt.Sprintf("%s stayed bent after a proof pull to %s%s: an engineer has to see it first.", g.Name, y.Level.Show(c.u, 0), on(y.Date)), p)
	}
}
