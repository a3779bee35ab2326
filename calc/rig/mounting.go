package rig

import (
	"strconv"
	"strings"

	"tautlog/calc/gear"
)

// OwnMounting ends the Ref of the mounting that is recorded with a point:
// "2.mounting" is that of the point at "2".
const OwnMounting = ".mounting"

// withMounting adds a place, and behind it, away from the line, the mounting
// that is recorded with a point.
func (w *walker) withMounting(f found) {
	point := f.place.Use.Item
	held, ok := point.Held()
	if !ok {
		w.found = append(w.found, f)
		return
	}
	m := f
	m.place.Ref += OwnMounting
	m.place.Use = Use{Item: held, OffAxis: f.place.Use.OffAxis}
	m.place.Holds = &point
	if f.place.End == PullingEnd {
		w.found = append(w.found, m, f)
		return
	}
	w.found = append(w.found, f, m)
}

// neighbours gives a mounting the point that it holds, and what has no angle
// of its own that of its neighbour: a mounting that of its point, a shackle
// that is bound in its slot that of what it sits in.
func (w *walker) neighbours() {
	for i := range w.found {
		p := &w.found[i].place
		switch {
		case p.Use.Item.Kind == gear.Mounting && p.Holds == nil:
			if next := w.beside(i, gear.Kind.Point); next != nil {
				item := next.Use.Item
				p.Holds = &item
				p.adopt(*next)
			}
		case p.Use.Seat == BoundSeat:
			if next := w.beside(i, gear.Kind.Fixed); next != nil {
				p.adopt(*next)
			}
			p.Heading.Bound = true
		}
	}
}

// adopt takes the heading of a neighbour where none is recorded here.
func (p *Place) adopt(next Place) {
	if p.Use.OffAxis == nil {
		p.Heading = next.Heading
	}
}

// beside is the neighbour of a place in its list that is of a kind.
func (w *walker) beside(i int, is func(gear.Kind) bool) *Place {
	for _, j := range []int{i - 1, i - 2, i + 1, i + 2} { // a point's own mounting may lie between
		if j < 0 || j >= len(w.found) {
			continue
		}
		if p := &w.found[j].place; is(p.Use.Item.Kind) && nextTo(w.found[i].place.Ref, p.Ref) {
			return p
		}
	}
	return nil
}

// nextTo says that two places follow each other in one list.
func nextTo(a, b string) bool {
	la, na, okA := listOf(a)
	lb, nb, okB := listOf(b)
	return okA && okB && la == lb && (na-nb == 1 || nb-na == 1)
}

// listOf splits the Ref of a place into its list and its number there.
func listOf(ref string) (list string, n int, ok bool) {
	i := strings.LastIndexByte(ref, '.')
	n, err := strconv.Atoi(ref[i+1:])
	return ref[:i+1], n, err == nil
}
