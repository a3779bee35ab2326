package gear

import (
	"math"
	"strings"

	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// gammaM2 is the partial factor of bolts and plates in bearing, EN 1993-1-8.
const gammaM2 = 1.25

// Estimate is what a mounting may hold by its bolts and plate. It is
// indicative: it knows nothing of welds, the chassis behind the plate, rust,
// cracks, how the bolts were tightened, or of jerks. An engineer's word, the
// maker's, or a rating stands before it, and it permits nothing.
type Estimate struct {
	// Limit is the pull at which the first way to fail is used up, and By
	// names that: "shear of the bolts".
	Limit unit.Force
	By    string
	// Modes are all ways to fail that could be estimated, of the group that
	// counts.
	Modes []FailureMode
	// Assumed says what was taken for what is not known, and Missing what
	// could not be estimated, and for want of what.
	Assumed, Missing []string
}

// FailureMode is one way in which a mounting can fail.
type FailureMode struct {
	Name string
	// Limit is the pull at which its design resistance is used up.
	Limit unit.Force
	// Formula is how that follows, in N and mm.
	Formula string
}

// EstimateSource says where the formulas of an estimate come from.
func EstimateSource() string { return words.Say("item.estimate.source") }

// Estimate gives the pull at which the mounting's bolts or plate are used up,
// with the line at heading h, by EN 1993-1-8 Table 3.4. It is false where
// too little is known for any estimate; Missing then says what.
//
// How several groups share is not known: the strongest counts alone, which is
// what the mounting can hold if the others do nothing.
func (f *Fixing) Estimate(h Heading) (Estimate, bool) {
	if f == nil || len(f.Bolts) == 0 {
		return Estimate{Missing: []string{words.Say("item.estimate.none")}}, false
	}
	var best Estimate
	found := false
	var missing []string
	for i, b := range f.Bolts {
		e, ok := b.estimate(f.Plate, h)
		if !ok {
			for _, m := range e.Missing {
				missing = append(missing, called(m, i, len(f.Bolts)))
			}
			continue
		}
		if !found || e.Limit > best.Limit {
			best, found = e, true
		}
	}
	best.Missing = append(best.Missing, missing...)
	if found && len(f.Bolts) > 1 {
		best.Assumed = append(best.Assumed, words.Say("item.estimate.groups"))
	}
	return best, found
}

// called says of which group something is missing, where there are several.
func called(missing string, i, of int) string {
	if of == 1 {
		return missing
	}
	return words.Say("item.estimate.group", i+1, missing)
}

// joint is one group of bolts on its way to an estimate.
type joint struct {
	bolts Bolts
	size  threadSize
	class boltClass
	area  float64 // stress area, mm²
	shear float64 // on one bolt, per newton of pull
	pull  float64 // tension in the most loaded bolt, per newton of pull
	out   *Estimate
}

func (b Bolts) estimate(p *Plate, h Heading) (Estimate, bool) {
	var e Estimate
	if unknown := b.unknown(); len(unknown) > 0 {
		e.Missing = []string{words.Say("item.estimate.unrecorded", strings.Join(unknown, ", "))}
		return e, false
	}
	j := joint{bolts: b, out: &e, area: b.Size.StressArea(b.Pitch)}
	j.size, _ = b.Size.size()
	j.class, _ = b.Class.class()
	if !j.load(h) {
		return e, false
	}
	j.assume(h)
	j.boltModes()
	j.plateModes(p)
	for i, m := range e.Modes {
		if i == 0 || m.Limit < e.Limit {
			e.Limit, e.By = m.Limit, m.Name
		}
	}
	return e, true
}

// unknown lists what no estimate can do without.
func (b Bolts) unknown() []string {
	var out []string
	for _, c := range []struct {
		known bool
		what  string
	}{
		{b.Count > 0, words.Say("item.estimate.count")},
		{b.Size != "", words.Say("item.estimate.size")},
		{b.Class != "", words.Say("item.estimate.class")},
		{b.Axis != AxisUnknown, words.Say("item.estimate.axis")},
	} {
		if !c.known {
			out = append(out, c.what)
		}
	}
	return out
}

// load spreads a pull of one newton over the bolts: evenly, and what tips the
// mounting over its outer rows, half of the bolts in each.
func (j *joint) load(h Heading) bool {
	along, across, up := h.direction()
	t := math.Abs(map[Axis]float64{Along: along, Across: across, Upright: up}[j.bolts.Axis])
	n := float64(j.bolts.Count)
	j.pull = t / n
	j.shear = math.Sqrt(max(0, 1-t*t)) / n
	if t > 1-1e-9 {
		j.shear = 0
	}
	if j.bolts.Lever == nil || *j.bolts.Lever == 0 {
		return true
	}
	if j.bolts.Rows == nil || j.bolts.Count < 2 {
		j.out.Missing = append(j.out.Missing, words.Say("item.estimate.rows"))
		return false
	}
	j.pull += float64(*j.bolts.Lever / *j.bolts.Rows) / float64(j.bolts.Count/2)
	return true
}

// direction is the line as a vector of length 1 in the vehicle: along it,
// across and up. A line whose angle is not known lies along.
func (h Heading) direction() (along, across, up float64) {
	side, rise := float64(h.Side), float64(h.Up)
	return math.Cos(side) * math.Cos(rise), math.Sin(side) * math.Cos(rise), math.Sin(rise)
}

// assume notes what was taken for what is not known.
func (j *joint) assume(h Heading) {
	note := func(is bool, text string) {
		if is {
			j.out.Assumed = append(j.out.Assumed, text)
		}
	}
	b := j.bolts
	note(h.Angle == nil, words.Say("item.estimate.straight"))
	note(b.Pitch == nil, words.Say("item.estimate.coarse"))
	note(b.Plane == PlaneUnknown && j.shear > 0, words.Say("item.estimate.thread"))
	note(b.Class == "12.9", words.Say("item.estimate.12.9"))
	note(b.Lever == nil, words.Say("item.estimate.lever"))
	note(b.Count > 1, words.Say("item.estimate.even"))
}

// mode adds a way to fail, whose texts begin with a name.
func (j *joint) mode(name string, limit float64, args ...any) {
	j.out.Modes = append(j.out.Modes, FailureMode{words.Say("item.mode." + name), unit.Force(limit), words.Say("item.mode."+name+".formula", args...)})
}
