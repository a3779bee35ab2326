package calibrate

import (
	"cmp"
	"math"
	"slices"

	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// ISO376 is what the series says by ISO 376: the largest relative errors, in
// percent, over all forces. Formulas and limits are from memory of
// ISO 376:2011 and want checking against the standard. A nil error is one that
// the series does not allow; Missing says why.
type ISO376 struct {
	Repeatability   *float64 // b′: two runs without turning the cell between them
	Reproducibility *float64 // b: three runs in different positions
	Interpolation   *float64 // fc: mean of those three from the curve
	Zero            *float64 // f0: zero after a run from zero before it
	Reversibility   *float64 // v: decreasing from increasing forces
	Resolution      *float64 // one step of the reading in the lowest force
	Class           string   // 00, 0.5, 1 or 2; empty where it reaches none or something is missing
	Missing         []string // for people
}

// limit376 is a class with its limits in percent. The resolution is limited by
// the lowest force, in steps.
type limit376 struct {
	class                                                                   string
	reproducibility, repeatability, interpolation, zero, reversibility, res float64
}

// limits376 are Table 2 of ISO 376:2011 from memory.
var limits376 = [...]limit376{
	{"00", 0.05, 0.025, 0.025, 0.012, 0.07, 100. / 4000},
	{"0.5", 0.10, 0.05, 0.05, 0.025, 0.15, 100. / 2000},
	{"1", 0.20, 0.10, 0.10, 0.05, 0.30, 100. / 1000},
	{"2", 0.40, 0.20, 0.20, 0.10, 0.50, 100. / 500},
}

// series376 is one run: readings less its zero, by force.
type series376 struct {
	up, down map[unit.Force]float64
	zeros    []float64
}

// RelativeErrors works out the errors of ISO 376 with f as the curve. Runs
// count in the order in which they appear: the first two without turning the
// cell, the third and fourth turned, each with its decreasing forces under
// the same name. Step is one step of the reading, 0 where it is not known.
func (f Fit) RelativeErrors(step float64) ISO376 {
	var e ISO376
	runs := f.series()
	e.repeat(runs)
	e.reproduce(f, runs)
	e.zeroAndBack(runs)
	if lowest, _ := f.applied(); step > 0 && lowest > 0 {
		v := 100 * step * math.Abs(float64(f.Slope(f.middle()))) / float64(lowest)
		e.Resolution = &v
	} else {
		e.lack(words.Say("calibrate.iso.resolution"))
	}
	e.classify()
	return e
}

func (e *ISO376) lack(why string) { e.Missing = append(e.Missing, why) }

// series sorts the points into runs. Points at no force are zeros; without one
// before the load, the reading at which the curve gives no force is the zero.
func (f Fit) series() (runs []series376) {
	index := map[string]int{}
	for _, p := range f.Points {
		i, ok := index[p.Run]
		switch {
		case p.Run == "":
			continue
		case !ok:
			i, index[p.Run] = len(runs), len(runs)
			runs = append(runs, series376{up: map[unit.Force]float64{}, down: map[unit.Force]float64{}})
		}
		switch r := &runs[i]; {
		case p.Force == 0:
			r.zeros = append(r.zeros, p.Reading)
		case p.Down:
			r.down[p.Force] = p.Reading
		default:
			r.up[p.Force] = p.Reading
		}
	}
	runs = slices.DeleteFunc(runs, func(r series376) bool { return len(r.up) == 0 })
	for _, r := range runs {
		r.takeOff(f.zeroReading(r))
	}
	return runs
}

func (f Fit) zeroReading(r series376) float64 {
	if len(r.zeros) > 0 {
		return r.zeros[0]
	}
	zero, _ := f.Reading(0)
	return zero
}

func (r series376) takeOff(zero float64) {
	for _, side := range []map[unit.Force]float64{r.up, r.down} {
		for force := range side {
			side[force] -= zero
		}
	}
}

// worst is the largest finite value over the forces that all sides have; nil
// where they share none.
func worst(value func(unit.Force) float64, sides ...map[unit.Force]float64) *float64 {
	var out *float64
	for force := range sides[0] {
		if !slices.ContainsFunc(sides, func(s map[unit.Force]float64) bool { _, ok := s[force]; return !ok }) {
			if v := math.Abs(value(force)); v < math.Inf(1) && (out == nil || v > *out) {
				out = &v
			}
		}
	}
	return out
}

func (e *ISO376) repeat(runs []series376) {
	if len(runs) < 2 {
		e.lack(words.Say("calibrate.iso.repeatability"))
		return
	}
	a, b := runs[0].up, runs[1].up
	e.Repeatability = worst(func(x unit.Force) float64 { return 200 * (b[x] - a[x]) / (a[x] + b[x]) }, a, b)
	if e.Repeatability == nil {
		e.lack(words.Say("calibrate.iso.repeatability.apart"))
	}
}

func (e *ISO376) reproduce(f Fit, runs []series376) {
	if len(runs) < 4 {
		e.lack(words.Count("calibrate.iso.reproducibility", len(runs)))
		return
	}
	a, b, c := runs[0].up, runs[2].up, runs[3].up
	mean := func(x unit.Force) float64 { return (a[x] + b[x] + c[x]) / 3 }
	e.Reproducibility = worst(func(x unit.Force) float64 {
		return 100 * (max(a[x], b[x], c[x]) - min(a[x], b[x], c[x])) / mean(x)
	}, a, b, c)
	zero, ok := f.Reading(0)
	if ok && e.Reproducibility != nil {
		e.Interpolation = worst(func(x unit.Force) float64 {
			fitted, _ := f.Reading(x)
			return 100 * (mean(x) - (fitted - zero)) / (fitted - zero)
		}, a, b, c)
	} else {
		e.lack(words.Say("calibrate.iso.reproducibility.apart"))
	}
}

func (e *ISO376) zeroAndBack(runs []series376) {
	for _, r := range runs {
		largest := 0.0
		for _, x := range r.up {
			largest = max(largest, math.Abs(x))
		}
		if n := len(r.zeros); n > 1 && largest > 0 {
			e.Zero = larger(e.Zero, 100*math.Abs(r.zeros[n-1]-r.zeros[0])/largest)
		}
	}
	e.Reversibility = reversibility(runs)
	if e.Zero == nil {
		e.lack(words.Say("calibrate.iso.zero"))
	}
	if e.Reversibility == nil {
		e.lack(words.Say("calibrate.iso.reversibility"))
	}
}

func larger(a *float64, v float64) *float64 {
	if a == nil || v > *a {
		return &v
	}
	return a
}

// reversibility is the largest over the forces of the mean over the runs.
func reversibility(runs []series376) *float64 {
	sum, n := map[unit.Force]float64{}, map[unit.Force]int{}
	var forces []unit.Force
	for _, r := range runs {
		for x, down := range r.down {
			if up, ok := r.up[x]; ok && up != 0 {
				sum[x] += 100 * math.Abs((down-up)/up)
				n[x]++
				forces = append(forces, x)
			}
		}
	}
	slices.SortFunc(forces, cmp.Compare)
	var out *float64
	for _, x := range forces {
		out = larger(out, sum[x]/float64(n[x]))
	}
	return out
}

// classify gives the best class whose limits all errors keep.
func (e *ISO376) classify() {
	if len(e.Missing) > 0 {
		return
	}
	for _, l := range limits376 {
		if *e.Reproducibility <= l.reproducibility && *e.Repeatability <= l.repeatability && *e.Interpolation <= l.interpolation &&
			*e.Zero <= l.zero && *e.Reversibility <= l.reversibility && *e.Resolution <= l.res {
			e.Class = l.class
			return
		}
	}
}
