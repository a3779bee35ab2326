package rating

import (
	"strings"

	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Stands is what the verdict on a mounting stands on.
type Stands string

// What a verdict may stand on, from the strongest.
const (
	// OnRating: a rating is stated for the mounting itself.
	OnRating Stands = "rating"
	// OnMaker: its maker engineered and tested it for this vehicle, so the
	// rating of the point that it holds stands for it.
	OnMaker Stands = "maker"
	// OnEstimate: only an estimate of its bolts is known. It can speak
	// against the mounting, never for it.
	OnEstimate Stands = "estimate"
	// OnNothing: not even that.
	OnNothing Stands = "nothing"
)

// Mounting is what the verdict on a mounting stands on, with the evidence.
type Mounting struct {
	Stands Stands
	// Fixing is what is recorded of it; nil: nothing is.
	Fixing *gear.Fixing
	// Estimate is what its bolts and plate may hold with the line as it lay;
	// without a limit where too little is known.
	Estimate gear.Estimate
	// Holds is the name of the point that it holds; empty: not known.
	Holds string
}

// speaking gives the item with the ratings that speak for it in its place.
// For all but mountings those are its own, and the Mounting is nil.
//
// A mounting is cleared by a rating of its own, or by its maker's word for
// that of the point. An estimate and a set after a proof pull only ever speak
// against it: they come as numbers of no working basis, which must not be
// exceeded, so that below them it cannot be judged.
func speaking(p rig.Place) (gear.Item, *Mounting) {
	g := p.Use.Item
	if g.Kind != gear.Mounting {
		return g, nil
	}
	m := &Mounting{Fixing: g.Fixing}
	m.Estimate, _ = g.Fixing.Estimate(p.Heading)
	if p.Holds != nil {
		m.Holds = p.Holds.Name
	}
	switch {
	case len(g.Ratings) > 0:
		m.Stands, g.Ratings = OnRating, append(g.Ratings[:len(g.Ratings):len(g.Ratings)], g.Fixing.Bent()...)
	case g.Fixing.MakersWord() && rated(p.Holds):
		m.Stands, g.Ratings = OnMaker, append(p.Holds.Ratings[:len(p.Holds.Ratings):len(p.Holds.Ratings)], g.Fixing.Bent()...)
	default:
		m.Stands, g.Ratings = OnNothing, g.Fixing.Evidence(p.Heading)
		if m.Estimate.Limit > 0 {
			m.Stands = OnEstimate
		}
	}
	return g, m
}

// rated says that an item has a rating for recovery.
func rated(it *gear.Item) bool {
	return it != nil && len(it.Ratings) > 0 && !it.Kind.NeverRecovery()
}

// stands says what the verdict on a mounting stands on; nothing for what is
// none.
func (w writer) stands(m *Mounting) (out []string) {
	if m == nil {
		return nil
	}
	e := m.Estimate
	switch {
	case m.Stands == OnMaker:
		out = append(out, words.Say("rating.stands.maker", m.Holds))
	case m.Stands == OnRating && e.Limit > 0:
		out = append(out, words.Say("rating.stands.rating", e.Limit.Show(w.u, 0), e.By))
	case m.Stands == OnEstimate:
		out = append(out, words.Say("rating.stands.estimate", e.Limit.Show(w.u, 0), e.By))
	case m.Fixing != nil:
		out = append(out, words.Say("rating.stands.nothing", strings.Join(e.Missing, "; ")))
	}
	return append(out, w.proofs(m.Fixing)...)
}

// proofs says what the proof pulls of a mounting show.
func (w writer) proofs(f *gear.Fixing) []string {
	var out []string
	if p := f.Proved(); p != nil {
		text := "rating.proved"
		if p.Set == nil {
			text = "rating.proved.unnoted"
		}
		out = append(out, words.Say(text, pulledTo(*p, w.u)))
	}
	if p := f.Yielded(); p != nil {
		out = append(out, words.Say("rating.yielded", pulledTo(*p, w.u), 1000*float64(*p.Set)))
	}
	return out
}

// pulledTo is the level of a proof pull, and its day where that is known.
func pulledTo(p gear.ProofPull, u unit.ForceUnit) string {
	level := p.Level.Show(u, 0)
	if p.Date == "" {
		return level
	}
	return words.Say("rating.levelon", level, p.Date.Words())
}
