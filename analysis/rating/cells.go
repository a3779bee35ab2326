package rating

import (
	"cmp"

	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Reading is the peak of a pull at one of a rig's cells.
type Reading struct {
	Cell string // its name in the rig
	Peak
}

// JudgeBy is Judge by the reading of one cell of the rig, of two perhaps. In a
// rig with one cell, the reading is of that one, whatever it was called.
func JudgeBy(by Reading, r rig.Rig, u unit.ForceUnit) (Result, error) {
	places, err := r.PlacesBy(r.CellRead(by.Cell))
	if err != nil {
		return Result{}, err
	}
	by.planned = false
	return judgePlaces(by.Peak, only(by.Peak), places, remarks(r, by.Kind, by.On, u), u), nil
}

// JudgeBoth is Judge for a rig with two cells that read the same pull: each
// item is judged by the reading that says most of what it carried. Peaks of
// two cells need not be at the same moment, so that what both carried together
// is an upper bound. The result's Peak is the first reading, and its Summary
// says what the second one was. It gives an error
// unless the readings are of the two cells of the rig.
func JudgeBoth(first, second Reading, r rig.Rig, u unit.ForceUnit) (Result, error) {
	for _, by := range []Reading{first, second} {
		if _, err := r.PlacesBy(by.Cell); err != nil {
			return Result{}, err
		}
	}
	if first.Cell == second.Cell {
		return Result{}, words.Error("rating.bothone", first.Cell)
	}
	places, err := r.PlacesByBoth()
	if err != nil {
		return Result{}, err
	}
	first.planned, second.planned = false, false
	first.Peak, second.Peak = first.finite(), second.finite()
	of := func(s rig.Share) Peak { return combined(first, second, s) }
	u = cmp.Or(u, unit.DefaultShown)
	res := judgePlaces(first.Peak, of, places, remarks(r, first.Kind, first.On, u), u)
	res.Summary = joined(res.Summary, crossed(first, second, r, writer{u: u}))
	return res, nil
}

// JudgeRead is Judge for a pull that one cell of the rig read, and perhaps the
// other one as well: by both, as JudgeBoth, or by the first alone, as JudgeBy.
// In a rig with two cells a remark then says that the other one is missing.
func JudgeRead(first Reading, second *Reading, r rig.Rig, u unit.ForceUnit) (Result, error) {
	if second != nil {
		return JudgeBoth(first, *second, r, u)
	}
	res, err := JudgeBy(first, r, u)
	if has := r.Cells(); err == nil && len(has) == 2 {
		other := has[0].Name
		if other == first.Cell {
			other = has[1].Name
		}
		res.Remarks = append([]string{words.Say("rating.otherpull", other, first.Cell)}, res.Remarks...)
	}
	return res, err
}

// Combined is the peak that a share is of which follows from two cells, as in
// JudgeBoth.
func Combined(first, second Reading, s rig.Share) Peak {
	first.Peak, second.Peak = first.finite(), second.finite()
	return combined(first, second, s)
}

// combined is the peak that a share is of.
func combined(first, second Reading, s rig.Share) Peak {
	switch {
	case len(s.Cells) == 1 && s.Cells[0] == second.Cell:
		return second.Peak
	case len(s.Cells) == 1:
		return first.Peak
	}
	join := func(a, b unit.Force) unit.Force {
		if s.Joint == nil {
			return max(a, b)
		}
		return rig.Jointly(a, b, *s.Joint)
	}
	p := Peak{Value: join(first.Value, second.Value), Kind: first.Kind, Open: first.Open || second.Open, most: s.Joint != nil}
	if first.bounded() && second.bounded() {
		p.Low, p.High = join(first.Low, second.Low), join(first.High, second.High)
	}
	return p
}

// crossed says what the second cell read and, where the rig tells, what the
// first one makes of that: they should agree, but for what sheaves take.
func crossed(first, second Reading, r rig.Rig, w writer) string {
	read := w.force("rating.truepeak", second.Value, second.Low, second.High, second.Open)
	places, err := r.PlacesBy(first.Cell)
	if err != nil {
		return "" // told before
	}
	for _, p := range places {
		if p.Use.Item.Name != second.Cell {
			continue
		}
		s := p.Share
		if s.Unbounded || s.Alone != nil {
			return words.Say("rating.crossed", second.Cell, read)
		}
		meant := unit.Force(s.Factor) * first.Value
		by := meant.Show(w.u, 0)
		off := 100 * (float64(second.Value/meant) - 1)
		switch {
		case meant <= 0:
			return words.Say("rating.crossed.meant", second.Cell, read, first.Cell, by)
		case off < 0:
			return words.Say("rating.crossed.less", second.Cell, read, first.Cell, by, -off)
		}
		return words.Say("rating.crossed.more", second.Cell, read, first.Cell, by, off)
	}
	return ""
}
