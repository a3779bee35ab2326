package web

import (
	"bytes"
	"encoding/json"
	"errors"
	"slices"
	"strconv"
	"strings"

	"tautlog/calc/gear"
	"tautlog/calc/rig"
)

// copyOf is a rig that shares nothing with the one it was made from.
func copyOf(g rig.Rig) (rig.Rig, error) {
	var b bytes.Buffer
	if err := rig.Encode(&b, g); err != nil {
		return g, err
	}
	return rig.DecodeDraft(&b)
}

// strand is a list of items within a link, under the name that it has in a
// rig.Place's Ref: "left", "block", "sheave2".
type strand struct {
	Name  string
	Title string
	Uses  *[]rig.Use
}

// strandsOf lists the strands of a link; an item in line has none.
func strandsOf(l *rig.Link) []strand {
	switch {
	case l.Bridle != nil:
		return []strand{{"left", text("page.rig.parts.left-leg"), &l.Bridle.Left}, {"right", text("page.rig.parts.right-leg"), &l.Bridle.Right}}
	case l.Redirect != nil:
		return []strand{{"block", text("page.rig.parts.block"), &l.Redirect.Block}}
	case l.Tackle != nil:
		out := []strand{{"fall", text("page.rig.parts.hauled"), &l.Tackle.Fall}}
		for i := range l.Tackle.Sheaves {
			n := strconv.Itoa(i + 1)
			out = append(out, strand{"sheave" + n, text("page.rig.parts.sheave", n), &l.Tackle.Sheaves[i]})
		}
		return append(out, strand{"dead", text("page.rig.parts.dead-end"), &l.Tackle.Dead})
	}
	return nil
}

// spot is a place for an item: the n-th, from 1, of a strand like "3.left" or
// of the chain, whose name is empty. A bridle's strap is the first of "3.strap".
type spot struct {
	list string
	n    int
}

// spotAt reads a spot as String writes it.
func spotAt(s string) (spot, bool) {
	i := strings.LastIndexByte(s, '.')
	n, err := strconv.Atoi(s[i+1:])
	return spot{s[:max(i, 0)], n}, err == nil && n > 0
}

func (p spot) String() string {
	if p.list == "" {
		return strconv.Itoa(p.n)
	}
	return p.list + "." + strconv.Itoa(p.n)
}

// next is the spot behind this one.
func (p spot) next() spot { return spot{p.list, p.n + 1} }

// draft is a rig that is being put together.
type draft struct{ *rig.Rig }

// link is the link that a strand is of; nil where there is none.
func (d draft) link(list string) (l *rig.Link, name string) {
	at, name, _ := strings.Cut(list, ".")
	n, err := strconv.Atoi(at)
	if err != nil || n < 1 || n > len(d.Chain) {
		return nil, ""
	}
	return &d.Chain[n-1], name
}

// strand is the list of a spot; nil where there is none, as for the chain.
func (d draft) strand(list string) *[]rig.Use {
	l, name := d.link(list)
	if l == nil {
		return nil
	}
	for _, s := range strandsOf(l) {
		if s.Name == name {
			return s.Uses
		}
	}
	return nil
}

// put puts a link in at a spot. It is false where the spot is none, or where
// something else than an item would hang in a strand.
func (d draft) put(at spot, l rig.Link) bool {
	if at.list == "" {
		if at.n > len(d.Chain)+1 {
			return false
		}
		d.Chain = slices.Insert(d.Chain, at.n-1, l)
		return true
	}
	if l.Use == nil {
		return false
	}
	if in, name := d.link(at.list); in != nil && in.Bridle != nil && name == "strap" && in.Bridle.Strap == nil {
		in.Bridle.Strap = l.Use
		return true
	}
	uses := d.strand(at.list)
	if uses == nil || at.n > len(*uses)+1 {
		return false
	}
	*uses = slices.Insert(*uses, at.n-1, *l.Use)
	return true
}

// take takes out what is at a spot.
func (d draft) take(at spot) bool {
	if at.list == "" {
		if at.n > len(d.Chain) {
			return false
		}
		d.Chain = slices.Delete(d.Chain, at.n-1, at.n)
		return true
	}
	if in, name := d.link(at.list); in != nil && in.Bridle != nil && name == "strap" {
		in.Bridle.Strap = nil
		return true
	}
	uses := d.strand(at.list)
	if uses == nil || at.n > len(*uses) {
		return false
	}
	*uses = slices.Delete(*uses, at.n-1, at.n)
	return true
}

// swap changes the place of what is at a spot with what is behind it.
func (d draft) swap(at spot) bool {
	if at.list == "" {
		return swapped(d.Chain, at.n)
	}
	uses := d.strand(at.list)
	return uses != nil && swapped(*uses, at.n)
}

func swapped[T any](list []T, n int) bool {
	if n < 1 || n >= len(list) {
		return false
	}
	list[n-1], list[n] = list[n], list[n-1]
	return true
}

// placed is an item of a rig with its Ref, as in rig.Place.
type placed struct {
	Ref string
	Use *rig.Use
}

// placesOf lists the items of a link, the number of which is ref.
func placesOf(l *rig.Link, ref string) (out []placed) {
	if l.Use != nil {
		out = append(out, placed{ref, l.Use})
	}
	if l.Bridle != nil && l.Bridle.Strap != nil {
		out = append(out, placed{ref + ".strap", l.Bridle.Strap})
	}
	for _, s := range strandsOf(l) {
		out = append(out, s.places(ref)...)
	}
	return out
}

func (s strand) places(ref string) (out []placed) {
	for i := range *s.Uses {
		out = append(out, placed{spot{ref + "." + s.Name, i + 1}.String(), &(*s.Uses)[i]})
	}
	return out
}

// eachUse goes through every item of a rig, in the order of the chain.
func eachUse(g *rig.Rig, f func(placed) error) error {
	for i := range g.Chain {
		for _, p := range placesOf(&g.Chain[i], strconv.Itoa(i+1)) {
			if err := f(p); err != nil {
				return err
			}
		}
	}
	return nil
}

// linkWords says what a link is, by the names of its items.
func linkWords(l *rig.Link) string {
	names := []string{}
	for _, p := range placesOf(l, "") {
		names = append(names, p.Use.Item.Name)
	}
	all, what := strings.Join(names, ", "), linkKind(l)
	switch {
	case what == "item":
		return all
	case all == "":
		return text("rig.link." + what)
	}
	return text("rig.link.of."+what, all)
}

// linkKind is what a link is, in one word.
func linkKind(l *rig.Link) string {
	switch {
	case l.Bridle != nil:
		return "bridle"
	case l.Redirect != nil:
		return "redirect"
	case l.Tackle != nil:
		return "tackle"
	}
	return "item"
}

// sameItem compares what two copies of an item say that a verdict hangs on: what
// became of it, which a rig's copy need not follow, aside.
func sameItem(a, b gear.Item) bool {
	a.Life, b.Life, a.Inspected, b.Inspected, a.Notes, b.Notes = gear.Life{}, gear.Life{}, "", "", "", ""
	x, errX := json.Marshal(a)
	y, errY := json.Marshal(b)
	return errX == nil && errY == nil && bytes.Equal(x, y)
}

// problemsOf lists why a rig cannot be judged.
func problemsOf(g rig.Rig) []gear.Problem {
	bad, ok := errors.AsType[*rig.ValidationError](g.Validate())
	if !ok {
		return nil
	}
	return bad.Problems
}

// wrongsOf lists why a rig cannot be judged, each with its place.
func wrongsOf(g rig.Rig) (out []string) {
	labels := rigLabels(g)
	for _, p := range problemsOf(g) {
		say := sentence(p.Text)
		if at := labels[rigField(p.Path)]; at != "" {
			say = text("rig.place.wrong", at, say)
		} else if m := linkPath.FindStringSubmatch(p.Path); m != nil {
			say = text("rig.place.wrong", text("rig.place.link", m[1]), say)
		}
		out = append(out, say)
	}
	return out
}
