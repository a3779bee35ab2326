package rig

import (
	"slices"
	"strings"

	"tautlog/calc/gear"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// maxCells is how many load cells a rig may have: two tell what each leg of a
// bridle carried, or what a sheave took.
const maxCells = 2

// cells gives the indexes of the load cells among the places.
func (w *walker) cells() []int {
	var out []int
	for i, f := range w.found {
		if f.place.Use.Item.Kind == gear.LoadCell {
			out = append(out, i)
		}
	}
	return out
}

// Cells lists the load cells of a rig that can be solved, in the order of the
// chain.
func (r Rig) Cells() []gear.Item {
	w, cells, err := r.measured()
	if err != nil {
		return nil
	}
	var out []gear.Item
	for _, i := range cells {
		out = append(out, w.found[i].place.Use.Item)
	}
	return out
}

// measured goes along a rig that has a cell, and gives the indexes of its cells.
// It gives the error of Validate.
func (r Rig) measured() (*walker, []int, error) {
	if err := r.Validate(); err != nil {
		return nil, nil, err
	}
	w := r.walk()
	return w, w.cells(), nil
}

// CellRead is the cell of the rig that a reading is of which came from a cell
// of that name: in a rig with one cell that one, whatever it is called there.
func (r Rig) CellRead(name string) string {
	if has := r.Cells(); len(has) == 1 {
		return has[0].Name
	}
	return name
}

// PlacesBy lists like Places every item with what it carries, in relation to
// the reading of the cell with this name. Another cell is then gear like any
// other. It gives an error for a name that no cell has.
func (r Rig) PlacesBy(cell string) ([]Place, error) {
	w, cells, err := r.measured()
	if err != nil {
		return nil, err
	}
	i := slices.IndexFunc(cells, func(i int) bool { return w.found[i].place.Use.Item.Name == cell })
	if i < 0 {
		return nil, words.Error("rig.wrong.nocell", cell, names(r.Cells()))
	}
	w.share(w.found[cells[i]])
	return w.places(), nil
}

// PlacesByBoth lists like Places every item with what it carries, in a rig
// with two cells that were both read: each in relation to the reading that
// says most of it, which Share.Cells names. In a bridle that may not share, a
// cell in each leg tells what the line carried too: see Share.Joint. It gives
// an error for a rig without two cells.
func (r Rig) PlacesByBoth() ([]Place, error) {
	w, cells, err := r.measured()
	if err != nil {
		return nil, err
	}
	if len(cells) != maxCells {
		return nil, words.Error("rig.wrong.nottwo", len(cells), names(r.Cells()))
	}
	for i := range w.found {
		w.found[i].place.Share = w.both(i, cells[0], cells[1])
	}
	return w.places(), nil
}

// both is the share of place i by the cell, of two, that says most of it.
func (w *walker) both(i, first, second int) Share {
	f, a, b := w.found[i], w.found[first], w.found[second]
	sa, sb := f.related(a), f.related(b)
	sa.Cells, sb.Cells = []string{a.place.Use.Item.Name}, []string{b.place.Use.Item.Name}
	if sa.Unbounded && sb.Unbounded && a.bridle == b.bridle {
		return w.jointly(f, a, b)
	}
	if b.nearer(f, sb, second-i) < a.nearer(f, sa, first-i) {
		return sb
	}
	return sa
}

// nearer weighs a share by a cell, the less the better: what is not known,
// what may lie with one leg, the terms between, and the places between.
func (f found) nearer(of found, s Share, apart int) int {
	p := of.load.relative(f.load)
	weight := 1000*(len(p.above)+len(p.below)) + max(apart, -apart)
	if s.Alone != nil {
		weight += 1e6
	}
	if s.Unbounded {
		weight += 1e9
	}
	return weight
}

// jointly is the share of what is outside of both legs of a bridle that may
// not share, with a cell in each.
func (w *walker) jointly(f, a, b found) Share {
	names := []string{a.place.Use.Item.Name, b.place.Use.Item.Name}
	if f.bridle == a.bridle { // the strap that makes both legs
		return Share{Factor: 1, Formula: "F", Sentence: words.Say("share.eachcell"), Cells: names}
	}
	s := f.related(found{load: *a.alone})
	included := w.rig.Chain[a.bridle-1].Bridle.Included
	s.Cells, s.Joint = names, &included
	s.Sentence = words.Say("share.jointly", s.Sentence, degrees(included))
	return s
}

func names(items []gear.Item) string {
	out := make([]string, len(items))
	for i, it := range items {
		out[i] = it.Name
	}
	return strings.Join(out, ", ")
}

// Jointly is the most that a line can carry whose two legs, this far apart,
// carry at most these forces, at the same moment or not: the largest of
// √(a² + b² + 2ab cos θ), a and b.
func Jointly(a, b unit.Force, included unit.Angle) unit.Force {
	if a <= 0 || b <= 0 {
		return max(a, b)
	}
	return max(a, b, unit.Force(diagonal(float64(a), float64(b), included)))
}
