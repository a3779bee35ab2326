package chain

import (
	"fmt"
	"slices"
	"strconv"

	"tautlog/analysis/rating"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// part is one segment of the drawing, a fork of several legs, or an item
// with others hanging off it.
type part struct {
	shape   shape
	name    string
	share   string  // "61 %", or its rating where nothing is judged
	fill    float64 // share of its own limit
	sure    float64 // how much of it is inked: all, or in a plan the share at the expected load
	verdict rating.Verdict
	judged  bool // a limit was known
	weakest bool
	reading string // at the cell
	first   bool   // the pulling end
	tall    bool   // drawn along a line that runs down
	hang    []part // what a redirect's block is held by
	legs    [][]part

	mostName float64 // room that a long name may take along the line
}

func (a part) unknown() bool { return a.verdict == rating.NotJudged && !a.judged }

func (a part) weight() float64 {
	if a.weakest {
		return 3
	}
	return 2
}

// says gives share and verdict in words.
func (a part) says() string {
	if a.share == "" {
		return a.verdict.String()
	}
	return words.Say("chain.came", a.share, a.verdict)
}

// upright is the part as it is drawn along a line that runs down.
func (a part) upright() part {
	a.tall = true
	return a
}

// builder turns a rig into parts, finding each item's verdict by its place.
type builder struct {
	res     *rating.Result
	weakest string
	o       Options
}

func parts(r rig.Rig, res *rating.Result, o Options) []part {
	b := builder{res: res, o: o}
	if res != nil {
		if it, ok := res.Weakest(); ok {
			b.weakest = it.Ref
		}
	}
	out := []part{{shape: vehicle, name: r.Pulling.Name, first: true}}
	for i, l := range r.Chain {
		out = append(out, b.link(r, i, l)...)
	}
	return append(out, part{shape: vehicle, name: r.Stuck.Name})
}

func (b builder) link(r rig.Rig, i int, l rig.Link) []part {
	ref := strconv.Itoa(i + 1)
	switch {
	case l.Bridle != nil:
		return []part{{legs: [][]part{b.leg(ref, "left", l.Bridle, i == 0), b.leg(ref, "right", l.Bridle, i == 0)}}}
	case l.Redirect != nil:
		return b.redirect(ref, l.Redirect)
	case l.Tackle != nil:
		return b.tackle(ref, l.Tackle, r.WinchAt == rig.StuckEnd)
	case l.Use != nil:
		return b.mounted(ref, *l.Use, r.End(i) == rig.PullingEnd)
	}
	return nil
}

// mounted is an item, with the mounting that is recorded with it behind it.
func (b builder) mounted(ref string, u rig.Use, pulling bool) []part {
	p := b.item(ref, u)
	held, ok := u.Item.Held()
	if !ok {
		return []part{p}
	}
	m := b.item(ref+rig.OwnMounting, rig.Use{Item: held})
	if pulling {
		return []part{m, p}
	}
	return []part{p, m}
}

// leg is one leg of a bridle; where one strap makes both, it is drawn in both.
func (b builder) leg(ref, side string, br *rig.Bridle, pulling bool) []part {
	uses := br.Left
	if side == "right" {
		uses = br.Right
	}
	out := b.items(ref+"."+side, uses, pulling)
	if br.Strap == nil {
		return out
	}
	strap := b.item(ref+".strap", *br.Strap)
	if side == "right" {
		strap.weakest = false // told once
	}
	if pulling {
		return append(out, strap)
	}
	return append([]part{strap}, out...)
}

// redirect is the block with what anchors it hanging off it.
func (b builder) redirect(ref string, rd *rig.Redirect) []part {
	all := b.items(ref+".block", rd.Block, false)
	if len(all) == 0 {
		return nil
	}
	block := all[0]
	block.hang = all[1:]
	return []part{block}
}

// tackle draws the near side, winch first, and the far side of a line that
// runs to and fro.
func (b builder) tackle(ref string, t *rig.Tackle, reversed bool) []part {
	near := [][]part{b.items(ref+".fall", t.Fall, false)}
	var far [][]part
	for i, s := range t.Sheaves {
		held := b.items(ref+".sheave"+strconv.Itoa(i+1), s, false)
		if i%2 == 0 {
			far = append(far, held)
			continue
		}
		slices.Reverse(held)
		near = append(near, held)
	}
	dead := b.items(ref+".dead", t.Dead, false)
	if t.Parts%2 == 0 {
		slices.Reverse(dead)
		near = append(near, dead)
	} else {
		far = append(far, dead)
	}
	out := append(side(near), side(far)...)
	if reversed {
		mirror(out)
	}
	return out
}

// side is one side of a tackle: in line where only one thing is there.
func side(groups [][]part) []part {
	if len(groups) == 1 {
		return groups[0]
	}
	return []part{{legs: groups}}
}

func mirror(ps []part) {
	slices.Reverse(ps)
	for _, p := range ps {
		for _, l := range p.legs {
			mirror(l)
		}
	}
}

func (b builder) items(ref string, uses []rig.Use, pulling bool) []part {
	var out []part
	for i, u := range uses {
		out = append(out, b.mounted(fmt.Sprintf("%s.%d", ref, i+1), u, pulling)...)
	}
	return out
}

func (b builder) item(ref string, u rig.Use) part {
	p := part{shape: shapeOf(u.Item.Kind), name: u.Item.Name}
	if p.shape == gap {
		p.reading = b.o.Reading
		if b.o.Readings != nil {
			p.reading = b.o.Readings[p.name]
		}
	}
	if b.res == nil {
		if len(u.Item.Ratings) > 0 {
			rt := u.Item.Ratings[0]
			p.share = words.Say(basisText(rt.Basis), rt.Value.Show(b.o.Unit, 0))
		}
		return p
	}
	it, ok := b.res.At(ref)
	if !ok {
		return p
	}
	p.weakest = ref == b.weakest
	p.judge(it, b.o.Planned)
	return p
}

// judge adds what an item came to, or may come to where it is planned.
func (a *part) judge(it rating.Item, planned bool) {
	a.verdict = it.Verdict
	if planned {
		a.verdict = it.AtHigh
	}
	if it.Utilisation == nil {
		return
	}
	a.judged, a.fill, a.sure = true, *it.Utilisation, *it.Utilisation
	if planned && it.High > it.Carried {
		a.fill *= float64(it.High / it.Carried)
	}
	a.share = Percent(a.fill)
}

// basisText names the text on a rating in the little room above an item.
func basisText(b gear.Basis) string {
	switch b {
	case gear.WLL:
		return "chain.rated.wll"
	case gear.MBS:
		return "chain.rated.mbs"
	case gear.Proof:
		return "chain.rated.proof"
	}
	return "chain.rated.stamp"
}

// Percent prints a share of a limit in percent, and what is far beyond it as a
// multiple.
func Percent(share float64) string {
	if share >= 9.995 {
		return strconv.FormatFloat(share, 'f', 0, 64) + " ×"
	}
	return unit.Percent(share)
}

func shapeOf(k gear.Kind) shape {
	switch k {
	case gear.Mounting:
		return bolted
	case gear.RecoveryPoint, gear.HitchReceiver, gear.TieDown, gear.TowEye, gear.TowBall:
		return point
	case gear.BowShackle:
		return bow
	case gear.SoftShackle:
		return soft
	case gear.RecoveryStrap, gear.TowStrap, gear.ExtensionStrap, gear.TreeStrap, gear.Bridle:
		return band
	case gear.KineticRope, gear.WinchRope, gear.Chain:
		return cord
	case gear.Winch:
		return drum
	case gear.Block:
		return wheel
	case gear.Ring:
		return ring
	case gear.Hook:
		return hook
	case gear.GroundAnchor:
		return stake
	case gear.LoadCell:
		return gap
	}
	return plain
}
