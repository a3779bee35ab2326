package shock

import (
	"cmp"
	"math"
	"slices"

	"tautlog/calc/unit"
)

// Residual is one pull beside what the speed fit expects of it.
type Residual struct {
	Pull     Pull
	Expected unit.Force
	// Log is the natural logarithm of the peak over Expected, at the middle of
	// where the peak lies; at its low end where that is all that is known.
	Log float64
	// Low to High is where that logarithm lies: equal to it where the peak is
	// exact. High is +Inf where the peak is only a lower bound.
	Low, High float64
}

// Residuals are the pulls of the fit beside what it expects of them, in the
// order in which they were given.
func (f *SpeedFit) Residuals() []Residual {
	all := make([]Residual, len(f.used))
	for i, p := range f.used {
		s := f.u.swings[i]
		low, high := p.interval()
		expected := s.peak(f.best[s.strap], f.best[len(f.u.straps)+s.ground])
		peak := unit.Force(math.Exp(expected)) * p.Reference.Weight()
		all[i] = Residual{p, peak, middle(reading{low: low, high: high}) - expected, low - expected, high - expected}
	}
	return all
}

// Range is the speeds at which one strap was pulled on one ground. Beyond
// them, what the fit expects rests on its model alone.
type Range struct {
	Strap, Ground    string
	Pulls            int
	Slowest, Fastest unit.Speed
}

// Ranges are the speeds of the pulls of the fit, by strap and ground.
func (f *SpeedFit) Ranges() []Range {
	at, all := index[[2]string]{}, []Range{}
	for _, p := range f.used {
		i := at.of([2]string{p.Class.Strap, p.Class.Ground})
		if i == len(all) {
			all = append(all, Range{p.Class.Strap, p.Class.Ground, 0, p.Speed, p.Speed})
		}
		r := &all[i]
		r.Pulls++
		r.Slowest, r.Fastest = min(r.Slowest, p.Speed), max(r.Fastest, p.Speed)
	}
	slices.SortFunc(all, func(a, b Range) int {
		return cmp.Or(cmp.Compare(a.Strap, b.Strap), cmp.Compare(a.Ground, b.Ground))
	})
	return all
}

// Range is the speeds at which the strap was pulled on the ground; false where
// it never was, even if other pulls tell of the strap and of the ground.
func (f *SpeedFit) Range(strap, ground string) (Range, bool) {
	for _, r := range f.Ranges() {
		if r.Strap == strap && r.Ground == ground {
			return r, true
		}
	}
	return Range{}, false
}
