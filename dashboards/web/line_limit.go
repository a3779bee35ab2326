package web

import (
	"math"
	"slices"
	"strings"

	"tautlog/analysis/plan"
	"tautlog/analysis/rating"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/ingest/store"
)

// limitView is what a rig in force may be asked for, as its cell reads it: it
// is drawn on the running trace.
type limitView struct {
	Force unit.Force // the reading at which the first item reaches its limit; +Inf where none has one
	Label string     // beside the drawn line
	Says  string     // where it comes from
	Over  string     // once it was crossed
	Not   []string   // items of which the line says nothing
}

// Drawn tells whether there is a limit to draw.
func (l *limitView) Drawn() bool { return l != nil && !math.IsInf(float64(l.Force), 1) }

// Newtons is the limit for the script.
func (l *limitView) Newtons() float64 { return float64(l.Force) }

// lineLimit finds which item of a rig reaches its limit first, and at what
// reading of the cell; nil where the rig cannot be solved. The kind of the next
// pull is not known, so that no item is refused for it.
func lineLimit(r rig.Rig, c store.Cell, u unit.ForceUnit) *limitView {
	places, err := r.PlacesBy(r.CellRead(c.Name))
	if err != nil {
		return nil
	}
	name := r.CellRead(c.Name)
	at := slices.IndexFunc(places, func(p rig.Place) bool { return p.Use.Item.Name == name })
	if at < 0 {
		return nil
	}
	most, err := plan.LargestPull(r, places[at].Ref, "", u)
	if err != nil {
		return nil
	}
	l := &limitView{Force: most.Force, Not: unlimited(most)}
	if !l.Drawn() {
		return l
	}
	shown := about(l.Force, u)
	l.Label = text("limit.label", most.First.Name, shown)
	l.Says = text("limit.says", most.First.Name, c.Name, shown)
	l.Over = text("limit.over", most.First.Name, shown)
	return l
}

// unlimited names the items that the limit says nothing of, and why.
func unlimited(most plan.Largest) (out []string) {
	for say, items := range map[string][]rating.Item{"limit.notrated": most.NotRated, "limit.notjudged": most.NotJudged} {
		var names []string
		for _, it := range items {
			if !slices.Contains(names, it.Name) {
				names = append(names, it.Name)
			}
		}
		if len(names) > 0 {
			out = append(out, text(say, strings.Join(names, ", ")))
		}
	}
	slices.Sort(out)
	return out
}
