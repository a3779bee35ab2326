package life

import (
	"cmp"
	"slices"

	"tautlog/analysis/pull"
	"tautlog/analysis/rating"
	"tautlog/calc/gear"
	"tautlog/calc/unit"
)

// Moments joins the uses of one item that are one pull as two load cells saw
// it, so that a pull counts once. Which pull of another cell that is,
// pull.SameMoment decides; both must have been logged with the same rig. What
// the item then carried follows as in rating.JudgeRead: in a rig with two cells
// from the reading that says most of it, or both; otherwise from the one by
// which it carried more. The order stays; a joined use stands where the first
// of them stood, and Beside has the numbers of the others.
func Moments(uses []Use) []Use {
	of := partners(uses)
	if of == nil {
		return uses
	}
	groups := map[int][]Use{}
	for i, first := range of {
		groups[first] = append(groups[first], uses[i])
	}
	out := make([]Use, 0, len(groups))
	for i := range uses {
		if g := groups[i]; len(g) > 0 {
			out = append(out, joined(g))
		}
	}
	return out
}

// UsedIn is what the owner's rules count in the uses of one item; Peak is the
// largest Use.Most.
func UsedIn(uses []Use) (u gear.Used) {
	for _, use := range Moments(uses) {
		u.Pulls++
		if most, known := use.Most(); known {
			u.Peak = max(u.Peak, most)
		}
	}
	return u
}

// partners gives for each use the first one that is the same pull, itself
// perhaps; nil where none is another's.
func partners(uses []Use) []int {
	near := neighbours(uses)
	if len(near) == 0 {
		return nil
	}
	of := make([]int, len(uses))
	for i := range of {
		of[i] = i
	}
	first := func(i int) int {
		for of[i] != i {
			i = of[i]
		}
		return i
	}
	for i := range uses {
		among := make([]pull.Pull, len(near[i]))
		for n, j := range near[i] {
			among[n] = uses[j].lasted()
		}
		if n := pull.SameMoment(uses[i].lasted(), among); n >= 0 {
			a, b := first(i), first(near[i][n])
			of[max(a, b)] = min(a, b)
		}
	}
	for i := range of {
		of[i] = first(i)
	}
	return of
}

// neighbours lists for each use those of another cell, in the same rig, that
// overlap it in time.
func neighbours(uses []Use) map[int][]int {
	order := make([]int, len(uses))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(uses[a].Start, uses[b].Start) })
	near := map[int][]int{}
	var open []int // begun before, and not ended
	for _, i := range order {
		if len(uses[i].Beside) > 0 {
			continue // joined before, with what it belongs to
		}
		open = slices.DeleteFunc(open, func(j int) bool { return uses[j].End <= uses[i].Start })
		for _, j := range open {
			if uses[j].Rig == uses[i].Rig && uses[j].Read != uses[i].Read {
				near[i], near[j] = append(near[i], j), append(near[j], i)
			}
		}
		open = append(open, i)
	}
	for _, all := range near {
		slices.Sort(all)
	}
	return near
}

func (u Use) lasted() pull.Pull { return pull.Pull{Start: u.Start, End: u.End} }

// joined is one use of several of the same moment.
func joined(uses []Use) Use {
	if len(uses) == 1 {
		return uses[0]
	}
	out, ok := byBoth(uses)
	if !ok {
		out = slices.MaxFunc(uses, byMost)
	}
	for _, u := range uses {
		if u.Pull != out.Pull {
			out.Beside = append(out.Beside, u.Pull)
		}
		out.Rebounds = max(out.Rebounds, u.Rebounds)
		out.Unsettled = out.Unsettled || u.Unsettled
	}
	return out
}

// byMost orders uses by what the item may have carried; not known is least.
func byMost(a, b Use) int {
	most := func(u Use) unit.Force {
		if f, known := u.Most(); known {
			return f
		}
		return -1
	}
	return cmp.Or(cmp.Compare(most(a), most(b)), byPeak(a, b))
}

func byPeak(a, b Use) int { return cmp.Compare(a.Peak, b.Peak) }

// byBoth is the use of an item in a rig of which both cells read the pull.
func byBoth(uses []Use) (out Use, ok bool) {
	i := slices.IndexFunc(uses, func(u Use) bool { return u.Both != nil })
	if i < 0 {
		return out, false
	}
	hung := *uses[i].Both
	var read []Use // the highest of each cell that Both follows from
	for _, cell := range hung.Cells {
		by := slices.DeleteFunc(slices.Clone(uses), func(u Use) bool { return u.Read != cell })
		if len(by) == 0 {
			return out, false
		}
		read = append(read, slices.MaxFunc(by, byPeak))
	}
	out = slices.MaxFunc(read, byPeak)
	if len(read) > 1 {
		of := func(u Use) rating.Reading { return rating.Reading{Cell: u.Read, Peak: u.peak()} }
		p := rating.Combined(of(read[0]), of(read[1]), hung.share())
		out.Peak, out.Low, out.High, out.Open, out.combined = p.Value, p.Low, p.High, p.Open, &p
		out.combined.Kind = out.Kind
	}
	out.Hung = &hung
	return out, true
}
