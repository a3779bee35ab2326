package rating

import (
	"slices"
	"strings"

	"tautlog/analysis/pull"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// The strength of a recovery strap or kinetic rope over the GVM of the lighter
// vehicle, as strapStandard recommends it. A stronger one stretches too little
// and overloads the points, a weaker one breaks.
const (
	minStrapRatio = 2
	maxStrapRatio = 3
)

// strapRatios finds straps outside of the recommended ratio, and those for
// which it cannot be told.
func (c *checker) strapRatios() {
	lighter, unknown := c.lighter()
	for _, p := range c.places {
		g := p.Use.Item
		if !g.Kind.Stretches() {
			continue
		}
		mbs := g.StatedMBS()
		switch {
		case mbs == 0:
			unknown := append([]string{words.Say("mismatch.unknown.mbs")}, unknown...)
			c.ratioUnknown(p, unknown)
			continue
		case len(unknown) > 0:
			c.ratioUnknown(p, unknown)
			continue
		}
		ratio := float64(mbs / lighter.GVM.Weight())
		if ratio < minStrapRatio || ratio > maxStrapRatio {
			c.note(StrapRatio, SettleFirst, strapStandard, words.Say("mismatch.ratio", g.Name, ratio, lighter.Name, minStrapRatio, maxStrapRatio), p)
		}
	}
}

func (c *checker) ratioUnknown(p rig.Place, unknown []string) {
	if c.kind != pull.Kinetic {
		return
	}
	c.note(StrapRatio, ToKnow, strapStandard, words.Say("mismatch.ratio.unknown", p.Use.Item.Name, strings.Join(unknown, ", ")), p)
}

// lighter is the lighter vehicle by GVM, or what is not recorded for it.
func (c *checker) lighter() (v gear.Vehicle, unknown []string) {
	for i, end := range []gear.Vehicle{c.rig.Pulling, c.rig.Stuck} {
		switch {
		case end.GVM == nil:
			unknown = append(unknown, words.Say("mismatch.unknown.gvm", end.Name))
		case i == 0 || v.GVM == nil || *end.GVM < *v.GVM:
			v = end
		}
	}
	return v, unknown
}

// pulls says that an item is a line that pulls on what is at its ends.
func pulls(k gear.Kind) bool {
	return k.Stretches() || k == gear.TowStrap || k == gear.ExtensionStrap
}

// strongStraps finds straps that are stronger than a point, or what holds it:
// that goes before the strap does.
func (c *checker) strongStraps() {
	for _, strap := range c.places {
		mbs := strap.Use.Item.StatedMBS()
		if !pulls(strap.Use.Item.Kind) || mbs == 0 || strap.Share.Factor == 0 {
			continue
		}
		breaks, name := mbs.Show(c.u, 0), strap.Use.Item.Name
		at, beyond := []rig.Place{strap}, []string{}
		for _, p := range c.places {
			if k := p.Use.Item.Kind; !k.Point() && k != gear.Mounting || k.NeverRecovery() {
				continue
			}
			load, st, limit := c.under(mbs/unit.Force(strap.Share.Factor), p)
			puts, on := load.Show(c.u, 0), p.Use.Item.Name
			switch {
			case st.Breaking != nil && load > st.Breaking.Value:
				c.note(StrapStronger, SettleFirst, commonPractice, words.Say("mismatch.stronger", breaks, name, puts, on, st.Breaking.Value.Show(c.u, 0)), strap, p)
			case st.Breaking == nil && limit != nil && load > limit.Value:
				at, beyond = append(at, p), append(beyond, words.Say("mismatch.puts", puts, on, limit.Value.Show(c.u, 0), limit.Text))
			}
		}
		if len(beyond) > 0 {
			c.note(StrapStronger, ToKnow, commonPractice, words.Say("mismatch.stronger.perhaps", breaks, name, strings.Join(beyond, ", ")), at...)
		}
	}
}

// under is what a place carries, at worst, under this force on the line that
// its share is of, and what it may carry there.
func (c *checker) under(line unit.Force, p rig.Place) (unit.Force, gear.Strength, *Limit) {
	g, _ := speaking(p)
	factor, paired := p.Share.Factor, p.Paired
	if a := p.Share.Alone; a != nil && *a > factor {
		factor, paired = *a, false
	}
	st := g.Strength(gear.Situation{Heading: p.Heading, Paired: paired, PairHeading: p.PairHeading})
	var l Load
	l.limits(st)
	return line * unit.Force(factor), st, l.Limit
}

// joins finds metal shackles and hooks between two straps: when something
// lets go, they fly.
func (c *checker) joins() {
	seen := map[string]bool{}
	for _, run := range c.rig.Runs() {
		for i := 1; i+1 < len(run); i++ {
			before, link, after := run[i-1], run[i], run[i+1]
			metal := link.Item.Kind == gear.BowShackle || link.Item.Kind == gear.Hook
			if !metal || !soft(before.Item.Kind) || !soft(after.Item.Kind) || seen[link.Ref] {
				continue
			}
			seen[link.Ref] = true
			c.note(MetalJoin, DoNotPull, fromRecall, words.Say("mismatch.metal", link.Item.Name, before.Item.Name, after.Item.Name), c.at(before.Ref), c.at(link.Ref), c.at(after.Ref))
		}
	}
}

// at is the place with a Ref of the rig.
func (c *checker) at(ref string) rig.Place {
	return c.places[slices.IndexFunc(c.places, func(p rig.Place) bool { return p.Ref == ref })]
}

// soft says that an item is a strap or rope of fibre.
func soft(k gear.Kind) bool {
	return k.Flexible() && k != gear.Chain && k != gear.SoftShackle
}
