package rating

import (
	"fmt"
	"strings"

	"tautlog/calc/gear"
	"tautlog/calc/rig"
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

// stands adds to the reason what the verdict on a mounting stands on; nothing
// for what is none.
func (w writer) stands(m *Mounting) string {
	if m == nil {
		return ""
	}
	var out []string
	note := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	e := m.Estimate
	switch {
	case m.Stands == OnMaker:
		note("The rating of %s stands for its mounting: the maker engineered and tested it on this vehicle.", m.Holds)
	case m.Stands == OnRating && e.Limit > 0:
		note("Its own rating is what counts; an indicative estimate of its bolts and plate gives %s (%s).", e.Limit.Show(w.u, 0), e.By)
	case m.Stands == OnEstimate:
		note("An indicative estimate of bolts and plate, %s (%s), clears nothing: ask an engineer.", e.Limit.Show(w.u, 0), e.By)
	case m.Fixing != nil:
		note("Too little is recorded for an estimate: %s.", strings.Join(e.Missing, "; "))
	}
	out = append(out, w.proofs(m.Fixing)...)
	if len(out) == 0 {
		return ""
	}
	return " " + strings.Join(out, " ")
}

// proofs says what the proof pulls of a mounting show.
func (w writer) proofs(f *gear.Fixing) []string {
	var out []string
	if p := f.Proved(); p != nil {
		out = append(out, fmt.Sprintf("It was proof pulled to %s%s%s: evidence up to there and in that direction, no working limit.", p.Level.Show(w.u, 0), on(p.Date), set(*p)))
	}
	if p := f.Yielded(); p != nil {
		out = append(out, fmt.Sprintf("A proof pull to %s%s left it bent by %.3g mm: out of service until an engineer has seen it.", p.Level.Show(w.u, 0), on(p.Date), 1000*float64(*p.Set)))
	}
	return out
}

func on(d gear.Date) string {
	if d == "" {
		return ""
	}
	return " on " + string(d)
}

// set says whether somebody looked for a set.
func set(p gear.ProofPull) string {
	if p.Set == nil {
		return " (whether it stayed bent was not noted)"
	}
	return " and did not stay bent"
}
