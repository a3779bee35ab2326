package shock

import (
	"cmp"
	"math"
	"slices"

	"tautlog/analysis/pull"
)

// Fewest pulls of a class for a bound of its own, and for any.
const (
	FewestAlone = 5
	FewestAny   = 3
)

// Set is the multipliers that follow from pulls.
type Set struct {
	Classes []ClassFit // by kind, ground and strap
	Used    []Pull
	LeftOut []LeftOut
}

// LeftOut is a pull that could not be used, and why.
type LeftOut struct {
	Pull   Pull
	Reason string
}

// ClassFit is the multiplier of one class.
type ClassFit struct {
	Class Class
	Pulls int
	Days  int
	// Closed is how many of the pulls have a peak that is more than a lower
	// bound.
	Closed int
	// Median is what half of such pulls stay below; no more than a lower bound
	// of that where Closed is 0.
	Median float64
	// Upper is the bound that 95 % of such pulls stay below, with 95 %
	// confidence, whatever day they are on; nil for fewer than three pulls whose
	// peak is more than a lower bound.
	Upper *float64
	// Pooled says that the class has fewer than five pulls of its own: the
	// bound rests on what other classes of the kind show.
	Pooled bool
	// Alone says that there is no other class of the kind to borrow from.
	Alone bool
	// Inexact is how many of the pulls entered as intervals without an upper
	// end or wide beside their spread.
	Inexact int

	belief belief
}

// ShareAbove is the share of such pulls above the factor x by the fit, as
// likely too low as too high, with its 95 % limits. It is false where the pulls tell nothing of their
// spread.
func (c ClassFit) ShareAbove(x float64) (share, low, high float64, ok bool) {
	switch {
	case len(c.belief) == 0:
		return 0, 0, 1, false
	case !(x > 0):
		return 1, 1, 1, true
	}
	y, tail := math.Log(x), (1-Confidence)/2
	return c.belief.above(y, 0.5), c.belief.above(y, tail), c.belief.above(y, 1-tail), true
}

// Fit fits the multipliers of all classes, those of one kind together. Pulls
// that cannot be used are listed and not used.
func Fit(pulls []Pull) Set {
	s := Set{}
	kinds := map[pull.Kind][]Pull{}
	for _, p := range pulls {
		if why := p.Problem(); why != "" {
			s.LeftOut = append(s.LeftOut, LeftOut{p, why})
			continue
		}
		s.Used = append(s.Used, p)
		kinds[p.Class.Kind] = append(kinds[p.Class.Kind], p)
	}
	for _, of := range kinds {
		s.Classes = append(s.Classes, fitClasses(of)...)
	}
	slices.SortFunc(s.Classes, func(a, b ClassFit) int { return compare(a.Class, b.Class) })
	return s
}

func compare(a, b Class) int {
	return cmp.Or(cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Ground, b.Ground), cmp.Compare(a.Strap, b.Strap))
}

// fitClasses fits the classes of one kind.
func fitClasses(pulls []Pull) []ClassFit {
	classes, days := index[Class]{}, index[string]{}
	readings := make([]reading, len(pulls))
	for i, p := range pulls {
		readings[i] = p.reading(classes.of(p.Class), days.of(p.Day))
	}
	fits := make([]ClassFit, len(classes))
	for c, j := range classes {
		fits[j] = ClassFit{Class: c, Alone: len(classes) == 1}
	}
	for j := range fits {
		fits[j].count(j, readings)
	}
	if closed(readings) < 2 { // nothing is known of the spread
		return fits
	}
	m := fitKind(readings, len(classes), len(days))
	for j := range fits {
		fits[j].fill(j, m, readings)
	}
	return fits
}

// closed counts the readings that have an upper end.
func closed(readings []reading) (n int) {
	for _, r := range readings {
		if !math.IsInf(r.high, 1) {
			n++
		}
	}
	return n
}

// count counts the readings of class j and takes their middle as the median,
// for want of better.
func (c *ClassFit) count(j int, readings []reading) {
	days, sum := map[int]bool{}, 0.0
	for _, r := range readings {
		if r.class != j {
			continue
		}
		days[r.day] = true
		c.Pulls++
		c.Closed += closed([]reading{r})
		sum += middle(r)
	}
	c.Days, c.Median = len(days), math.Exp(sum/float64(c.Pulls))
}

// fill takes what the model says of class j.
func (c *ClassFit) fill(j int, m model, readings []reading) {
	for _, r := range readings {
		if r.class == j && r.high-r.low > width*math.Sqrt(m.sigma2*m.spreads.relative[j]) {
			c.Inexact++
		}
	}
	if c.Closed == 0 {
		return
	}
	c.belief = m.beliefs[j]
	c.Median = math.Exp(c.belief.median())
	if c.Closed >= FewestAny {
		upper := math.Exp(c.belief.quantile(Confidence, normalQuantile(Content)))
		c.Upper, c.Pooled = &upper, c.Pulls < FewestAlone
	}
}

// middle is the best single value for a reading.
func middle(r reading) float64 {
	if math.IsInf(r.high, 1) {
		return r.low
	}
	return (r.low + r.high) / 2
}

// index numbers what it is asked for, in the order of asking.
type index[T comparable] map[T]int

func (x index[T]) of(key T) int {
	n, ok := x[key]
	if !ok {
		n = len(x)
		x[key] = n
	}
	return n
}
