package rig

import (
	"fmt"

	"tautlog/calc/gear"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Places lists every item of the rig with what it carries, in the order of
// the chain, in relation to the reading of its cell. It gives the error of
// Validate for a rig that cannot be solved, and one for a rig with two cells:
// see PlacesBy and PlacesByBoth.
//
// The shares are static and neglect the gear's own mass and stretch.
func (r Rig) Places() ([]Place, error) {
	w, cells, err := r.measured()
	if err != nil {
		return nil, err
	}
	if len(cells) > 1 {
		return nil, words.Error("rig.wrong.whichcell", names(r.Cells()))
	}
	w.share(w.found[cells[0]])
	return w.places(), nil
}

// walk goes along the chain of a rig that can be solved.
func (r Rig) walk() *walker {
	w := &walker{rig: r, line: product{}}
	for i, l := range r.Chain {
		w.link(i, l)
	}
	w.neighbours()
	return w
}

// walker goes along the chain and notes, for each item, its load as a
// multiple of the line at the pulling end.
type walker struct {
	rig   Rig
	line  product // of the line here
	fall  product // of the hauled part of the tackle next to the winch
	tied  bool    // there is a tackle
	found []found

	offAxis *OffAxis // of the line at the bridle that the walker is in
}

// found is a place whose share is not yet related to the cell.
type found struct {
	place  Place
	load   product
	alone  *product // the load if this leg of a bridle takes all
	bridle int      // 1 + index of the link, within a bridle that may not share
	says   string   // the text on what it carries: "each leg carries %s"
	of     int      // line parts, where the text says how many
}

// at adds the items of one list. Ref is the list's place, without the number.
func (w *walker) at(uses []Use, f found) {
	ref := f.place.Ref
	for i, u := range uses {
		f.place.Ref = fmt.Sprintf("%s.%d", ref, i+1)
		w.one(u, f)
	}
}

func (w *walker) one(u Use, f found) {
	f.place.Use = u
	if !u.Item.Kind.Fixed() {
		f.place.Heading = gear.Heading{} // it hangs in its leg and turns into it
	}
	f.place.Heading = u.OffAxis.heading(f.place.Heading)
	turn := w.rig.turnLimit(u.Item, f.place.End)
	f.place.Heading = turned(f.place.Heading, u.OffAxis, turn)
	f.place.PairHeading = turned(f.place.PairHeading, w.offAxis, turn)
	w.withMounting(f)
}

func (w *walker) link(i int, l Link) {
	f := found{load: w.line}
	f.place.Ref = fmt.Sprint(i + 1)
	f.place.End = w.rig.End(i)
	switch {
	case l.Use != nil:
		f.place.Where, f.says = w.rig.where(f.place.End, l.Use.Item), "share.line"
		w.one(*l.Use, f)
	case l.Bridle != nil:
		w.bridle(*l.Bridle, i, f)
	case l.Redirect != nil:
		w.redirect(*l.Redirect, f)
	case l.Tackle != nil:
		w.tackle(*l.Tackle, f)
	}
}

func (w *walker) bridle(b Bridle, i int, f found) {
	ref, whole := f.place.Ref, w.line
	w.offAxis = b.OffAxis
	defer func() { w.offAxis = nil }()
	f.says = "share.leg"
	f.load = w.line.over(number(2), half(b.Included))
	f.place.Paired = true
	f.place.PairHeading = b.OffAxis.heading(gear.Heading{})
	f.place.Heading = b.legHeading()
	if !b.Equaliser {
		f.alone, f.bridle = &whole, i+1
	}
	name := w.rig.vehicle(f.place.End).Name
	if b.Strap != nil {
		s := f
		s.place.Ref, s.place.Where = ref+".strap", words.Say("place.bridle", name)
		s.place.Paired = false
		w.one(*b.Strap, s)
	}
	f.place.Ref, f.place.Where = ref+".left", words.Say("place.left", name)
	w.at(b.Left, f)
	f.place.Ref, f.place.Where = ref+".right", words.Say("place.right", name)
	w.at(b.Right, f)
}

// legHeading is how a leg lies at its point: half the included angle, and
// what the line itself lies to the side.
func (b Bridle) legHeading() gear.Heading {
	h, v := b.Included/2, unit.Angle(0)
	if o := b.OffAxis; o != nil && !o.FullTurn {
		side, up := o.parts()
		h, v = h+max(side, -side), up
	}
	return heading(h, v)
}

func (w *walker) redirect(d Redirect, f found) {
	f.place.Where, f.says = words.Say("place.redirect"), "share.block"
	f.place.End = ""
	e := kept(d.Loss)
	hauled := w.line // the line on the winch's side
	switch {
	case e == 1:
		f.load = w.line.times(number(2), half(d.Included))
	case w.rig.WinchAt == StuckEnd:
		w.line = w.line.over(number(e))
		hauled = w.line
		f.load = hauled.times(resultant(d.Included, e))
	default:
		w.line = w.line.times(number(e))
		f.load = hauled.times(resultant(d.Included, e))
	}
	f.place.Ref += ".block"
	w.at(d.Block, f)
}

func (w *walker) tackle(t Tackle, f found) {
	ref, e := f.place.Ref, kept(t.Loss)
	sum := partsSum(t.Parts, e)
	part := func(n int) product { // the n-th part from the winch, from 0
		p := w.line
		for range n {
			p = p.times(number(e))
		}
		return p.over(sum)
	}
	near, far := w.rig.winchEnd(), w.rig.winchEnd().Other()
	if !w.tied || near == StuckEnd {
		w.fall, w.tied = part(0), true
	}
	f.load, f.says, f.of = part(0), "share.fall", t.Parts
	f.place.Ref, f.place.End, f.place.Where = ref+".fall", near, words.Say("place.fall")
	w.at(t.Fall, f)
	for n, uses := range t.Sheaves {
		f.load = part(n).times(number(2))
		if e != 1 {
			f.load = part(n).times(named("(1 + "+plain(e)+")", 1+e))
		}
		f.says = "share.sheave"
		f.place.Ref, f.place.End = fmt.Sprintf("%s.sheave%d", ref, n+1), []Side{far, near}[n%2]
		f.place.Where = words.Say("place.sheave", n+1)
		w.at(uses, f)
	}
	f.load, f.says = part(t.Parts-1), "share.dead"
	f.place.Ref, f.place.End, f.place.Where = ref+".dead", []Side{near, far}[t.Parts%2], words.Say("place.dead")
	w.at(t.Dead, f)
}

// share relates every load to that of one place.
func (w *walker) share(to found) {
	for i := range w.found {
		w.found[i].place.Share = w.found[i].related(to)
	}
}

// related is the share of the load at the cell, or at another place that
// stands in for one.
func (f found) related(cell found) Share {
	p := f.load.relative(cell.load)
	s := Share{Factor: p.value(), Formula: p.formula()}
	sameLeg := f.bridle == cell.bridle && f.place.leg() == cell.place.leg()
	switch {
	case cell.bridle != 0 && !sameLeg:
		s.Unbounded = true
		s.Sentence = words.Say("share.unknown", f.carries(s.Formula))
	case f.alone != nil && !sameLeg:
		whole := f.alone.relative(cell.load)
		v := whole.value()
		s.Alone = &v
		s.Sentence = words.Say("share.either", f.carries(s.Formula), whole.formula())
	case f.place.Ref == cell.place.Ref && f.place.Use.Item.Kind == gear.LoadCell:
		s.Sentence = words.Say("share.cell")
	default:
		s.Sentence = f.carries(s.Formula)
	}
	return s
}

// carries says what an item carries.
func (f found) carries(formula string) string {
	if f.of > 0 {
		return words.Count(f.says, f.of, formula)
	}
	return words.Say(f.says, formula)
}

func (w *walker) places() []Place {
	ps := make([]Place, len(w.found))
	for i, f := range w.found {
		ps[i] = f.place
	}
	return ps
}
