package rating

import (
	"cmp"
	"slices"

	"tautlog/analysis/pull"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Severity is how much a mismatch weighs, as files hold it in every language.
// String is what people read. None of them permits a pull.
type Severity string

// The severities, from the lightest to the heaviest.
const (
	ToKnow      Severity = "to know"
	SettleFirst Severity = "settle before the pull"
	DoNotPull   Severity = "do not pull with this"
)

// Severities lists them from the lightest to the heaviest.
func Severities() []Severity { return []Severity{ToKnow, SettleFirst, DoNotPull} }

// String is the severity in words, in the language in use.
func (s Severity) String() string { return words.Say("severity." + string(s)) }

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
	u = cmp.Or(u, unit.DefaultShown)
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

// note adds a mismatch at some places; source is a text.
func (c *checker) note(rule MismatchRule, s Severity, source, say string, at ...rig.Place) {
	m := Mismatch{Rule: rule, Severity: s, Text: say, Source: words.Say(source)}
	for _, p := range at {
		m.Refs, m.Items = append(m.Refs, p.Ref), append(m.Items, p.Use.Item.Name)
	}
	c.out = append(c.out, m)
}

// The texts of the sources of the rules.
const (
	strapStandard  = "mismatch.source.strap"
	attachment     = "mismatch.source.attachment"
	noSnatch       = "mismatch.source.snatch"
	commonPractice = "mismatch.source.practice"
	fromRecall     = "mismatch.source.memory"
	ownRecord      = "mismatch.source.record"
	ownRule        = "mismatch.source.owner"
)

// use finds what an item is used for that it is not made or rated for.
func (c *checker) use(p rig.Place) {
	g := p.Use.Item
	switch {
	case g.Kind.NeverRecovery():
		c.note(NoPoint, DoNotPull, attachment, words.Say("mismatch.never", g.Name, article(g.Kind)), p)
	case g.Kind.KineticMisuse() && c.kind == pull.Kinetic:
		c.note(KineticMisuse, DoNotPull, noSnatch, words.Say("mismatch.jerk", g.Name, article(g.Kind)), p)
	}
	pair := len(g.Ratings) > 0 && !slices.ContainsFunc(g.Ratings, func(r gear.Rating) bool { return r.Together != gear.Pair })
	switch {
	case pair && !p.Paired:
		c.note(PairAlone, DoNotPull, ownRecord, words.Say("mismatch.pair.alone", g.Name), p)
	case pair && p.Share.Alone != nil:
		c.note(PairAlone, SettleFirst, ownRecord, words.Say("mismatch.pair.all", g.Name), p)
	}
	if y := g.Fixing.Yielded(); y != nil && g.Kind == gear.Mounting {
		c.note(MountingBent, DoNotPull, ownRecord, words.Say("mismatch.bent", g.Name, pulledTo(*y, c.u)), p)
	}
}
