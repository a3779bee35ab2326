package rig

import (
	"fmt"

	"tautlog/calc/gear"
)

// Joined is an item of a run, at its place.
type Joined struct {
	Ref  string // as in Place
	Item gear.Item
}

// Runs lists the ways along which items are joined one to the next, in the
// order of the chain. The line's way ends at a block or tackle, where it runs
// through and is not joined; where a bridle forks it, there is one run for each
// leg, and the rest of the line is in both.
func (r Rig) Runs() [][]Joined {
	var out [][]Joined
	for _, side := range []string{"left", "right"} {
		var run []Joined
		for i, l := range r.Chain {
			switch {
			case l.Use != nil:
				run = append(run, Joined{fmt.Sprint(i + 1), l.Use.Item})
			case l.Bridle != nil:
				run = append(run, l.Bridle.run(fmt.Sprint(i+1), side, r.End(i) == PullingEnd)...)
			default:
				out, run = append(out, run, hung(fmt.Sprint(i+1), l)), nil
			}
		}
		out = append(out, run)
	}
	return out
}

// run is one leg of a bridle with the strap that makes both.
func (b Bridle) run(ref, side string, pulling bool) []Joined {
	uses := b.Left
	if side == "right" {
		uses = b.Right
	}
	leg := listed(ref+"."+side, uses)
	if b.Strap == nil {
		return leg
	}
	strap := Joined{ref + ".strap", b.Strap.Item}
	if pulling {
		return append(leg, strap)
	}
	return append([]Joined{strap}, leg...)
}

// hung is what a redirect's block is held by.
func hung(ref string, l Link) []Joined {
	if l.Redirect == nil {
		return nil
	}
	return listed(ref+".block", l.Redirect.Block)
}

func listed(ref string, uses []Use) []Joined {
	var out []Joined
	for i, u := range uses {
		out = append(out, Joined{fmt.Sprintf("%s.%d", ref, i+1), u.Item})
	}
	return out
}
