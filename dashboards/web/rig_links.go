package web

import (
	"slices"
	"strconv"
	"strings"

	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
)

// linkView is a link of the chain with its fields.
type linkView struct {
	N       string
	Title   string
	Kind    string // "item", "bridle", "redirect" or "tackle"
	TakeOut string // what the button says that takes it out; of an item its place has one
	Fields  []entry
	Places  []placeView // what is in no strand: an item in line, a strap
	Strands []strandView
}

// strandView is one leg of a bridle, one sheave, or the like.
type strandView struct {
	Title  string
	Places []placeView
}

// placeView is an item in its place.
type placeView struct {
	Ref, ID string
	Item    gear.Item
	Rated   string
	Lies    string // how the line lies there; empty where it turns into it
	Fields  []entry
	Open    bool // something in it is wrong
	Fixed   bool // at its place: a strap cannot be moved
}

func linksOf(g *rig.Rig, f *sheet, u unit.ForceUnit) (out []linkView) {
	for i := range g.Chain {
		l, n := &g.Chain[i], strconv.Itoa(i+1)
		v := linkView{N: n, Kind: linkKind(l), Fields: f.set(linkFields(l, n)...), Title: text("rig."+linkKind(l), n)}
		if v.Kind != "item" {
			v.TakeOut = text("rig.takeout." + v.Kind)
		}
		if l.Use != nil {
			v.Places = []placeView{placeOf(placed{n, l.Use}, f, u)}
		}
		if l.Bridle != nil && l.Bridle.Strap != nil {
			strap := placeOf(placed{n + ".strap", l.Bridle.Strap}, f, u)
			strap.Fixed = true
			v.Places = []placeView{strap}
		}
		for _, st := range strandsOf(l) {
			sv := strandView{Title: st.Title}
			for _, p := range st.places(n) {
				sv.Places = append(sv.Places, placeOf(p, f, u))
			}
			v.Strands = append(v.Strands, sv)
		}
		out = append(out, v)
	}
	return out
}

// linkFields lists the fields of a link that is more than an item.
func linkFields(l *rig.Link, n string) []entry {
	loss := entry{Name: pf(n, "loss"), Label: text("page.rig.form.sheave-loss"), Hint: text("page.rig.form.sheave-loss.hint")}
	switch {
	case l.Bridle != nil:
		return append([]entry{
			{Name: pf(n, "included"), Label: text("page.rig.form.angle.legs"), Hint: text("page.rig.form.deg.hint")},
			{Name: pf(n, "equaliser"), Label: text("page.rig.form.equalised"), Choices: []option{{Label: text("page.rig.form.no-known")}, {Value: "yes", Label: text("page.rig.form.yes")}}},
		}, angleFields(n, text("page.rig.form.side.bridle"))...)
	case l.Redirect != nil:
		return []entry{{Name: pf(n, "included"), Label: text("page.rig.form.angle.lines"), Hint: text("page.rig.form.angle.hint")}, loss}
	case l.Tackle != nil:
		return []entry{{Name: pf(n, "parts"), Label: text("page.rig.form.line-parts"), Hint: text("page.rig.form.to.hint")}, loss}
	}
	return nil
}

func angleFields(ref, side string) []entry {
	return []entry{
		{Name: pf(ref, "h"), Label: side, Hint: text("page.rig.form.off-axis.hint")},
		{Name: pf(ref, "v"), Label: text("page.rig.form.steep"), Hint: text("page.rig.form.side.hint")},
		{Name: pf(ref, "turn"), Label: text("page.rig.form.wheels-turn"), Choices: []option{{Label: text("page.rig.form.no")}, {Value: "yes", Label: text("page.rig.form.yes.2")}}},
	}
}

func placeOf(p placed, f *sheet, u unit.ForceUnit) placeView {
	side := text("page.rig.form.side.there")
	if p.Use.Item.Kind == gear.BowShackle {
		side = text("page.rig.form.side-load")
	}
	fields := []entry{{Name: pf(p.Ref, "item"), Label: text("page.rig.form.item"), Hint: text("page.rig.form.replace.hint")}}
	if p.Use.Item.Kind == gear.BowShackle || p.Use.Seat != rig.SeatUnknown {
		fields = append(fields, entry{Name: pf(p.Ref, "seat"), Label: text("page.rig.form.slot"), Choices: []option{{Label: text("page.rig.form.not-known")}, {Value: string(rig.FreeSeat), Label: text("page.rig.form.turns-free")}, {Value: string(rig.BoundSeat), Label: text("page.rig.form.bound-cannot-turn")}}})
	}
	fields = f.set(append(fields, angleFields(p.Ref, side)...)...)
	return placeView{
		Ref: p.Ref, ID: "place-" + strings.ReplaceAll(p.Ref, ".", "-"), Item: p.Use.Item, Rated: strings.Join(rated(p.Use.Item, u), "; "), Lies: lies(*p.Use),
		Fields: fields, Open: slices.ContainsFunc(fields, func(e entry) bool { return e.Wrong != "" }),
	}
}

// lies says how the line lies at an item.
func lies(u rig.Use) string {
	var out []string
	switch u.Seat {
	case rig.FreeSeat:
		out = append(out, text("lies.free"))
	case rig.BoundSeat:
		out = append(out, text("lies.bound"))
	case rig.SeatUnknown:
	}
	switch o := u.OffAxis; {
	case o == nil && u.Item.Kind.Fixed():
		out = append(out, text("lies.unknown"))
	case o == nil:
	default:
		if o.FullTurn {
			out = append(out, text("lies.turn"))
		}
		if o.Horizontal != nil {
			out = append(out, text("lies.side", *o.Horizontal))
		}
		if o.Vertical != nil {
			out = append(out, text("lies.up", *o.Vertical))
		}
	}
	return strings.Join(out, ", ")
}
