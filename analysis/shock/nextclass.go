package shock

import (
	"fmt"
	"math"

	"tautlog/calc/unit"
)

// expectation is the bound of a class as it is expected to be after more
// pulls.
//
// The class is fitted again with made-up pulls which together have the first
// two moments of what is to be expected by the fit (a plug-in for the
// expectation over the posterior predictive distribution: nothing is drawn).
// The pulls of one day have a mean that differs from the level by the day, by
// chance and by what is not known of the level; it is put once as much above
// and once as much below as its standard deviation, and the mean of the
// logarithms of both bounds is taken. About the mean of its day, a pull stands
// at a normal quantile, all together as far apart as n pulls are expected to
// be. Several days stand at quantiles in the same way, so that the spread of
// days is found again too. The method is our own; TestNextClassExpectation
// compares it with drawn pulls.
type expectation struct {
	set   Set
	class *ClassFit
	done  <-chan struct{}
	// Standard deviations, of the logarithm: of the level, of days, of pulls.
	level, day, single float64
}

// expect makes the expectation of a class; false where the fit says nothing of
// its spread.
func (k knowledge) expect(of Class) (e expectation, ok bool) {
	c := k.class(of)
	if c == nil || len(c.belief) == 0 {
		return e, false
	}
	e = expectation{set: k.set, class: c, done: k.done}
	middle, level2 := c.belief.median(), 0.0
	for _, n := range c.belief {
		sigma := n.root / math.Sqrt(math.Max(1, n.chi.freedom))
		e.single += n.weight * sigma
		e.day += n.weight * sigma * math.Sqrt(math.Max(0, n.reach*n.reach-1))
		level2 += n.weight * (n.sd*n.sd*sigma*sigma + (n.mean-middle)*(n.mean-middle))
	}
	e.level = math.Sqrt(level2)
	return e, true
}

// after is the bound of target after pulls of the class on so many days, or on
// the last logged day; false where there is none.
func (e expectation) after(target Class, pulls, days int, same bool) (bound float64, ok bool) {
	sum := 0.0
	for _, side := range []float64{1, -1} {
		goOn(e.done)
		set := Fit(append(e.set.Used[:len(e.set.Used):len(e.set.Used)], e.made(pulls, days, same, side)...))
		c := knowledge{set: set}.class(target)
		if c == nil || c.Upper == nil {
			return 0, false
		}
		sum += math.Log(*c.Upper) / 2
	}
	return math.Exp(sum), true
}

// made are the made-up pulls.
func (e expectation) made(pulls, days int, same bool, side float64) (all []Pull) {
	middle, day := math.Log(e.class.Median), e.day
	if same {
		effect, left := e.lastDay()
		middle, day = middle+effect, left
	}
	shift := side * math.Sqrt(e.level*e.level+(day*day+e.single*e.single*float64(days)/float64(pulls))/float64(days))
	between := scores(days, day)
	for d := range days {
		name := fmt.Sprint("+", d)
		if same {
			name = e.set.Used[len(e.set.Used)-1].Day
		}
		n := (pulls + days - 1 - d) / days // as even as can be
		for _, s := range scores(n, e.single) {
			all = append(all, pullOf(e.class.Class, name, middle+shift+between[d]+s))
		}
	}
	return all
}

// pullOf is a made-up pull with the logarithm y of its factor.
func pullOf(of Class, day string, y float64) Pull {
	const reference unit.Mass = 1000
	return Pull{Day: day, Class: of, Reference: reference, Peak: unit.Force(math.Exp(y)) * reference.Weight()}
}

// lastDay is what the last logged day is likely to do to all of its pulls,
// drawn towards nothing as far as chance may have done it, and the standard
// deviation that is left of it.
func (e expectation) lastDay() (effect, left float64) {
	day, n := e.set.Used[len(e.set.Used)-1].Day, 0.0
	level := map[Class]float64{}
	for _, c := range e.set.Classes {
		level[c.Class] = math.Log(c.Median)
	}
	for _, p := range e.set.Used {
		if p.Day == day && p.Class.Kind == e.class.Class.Kind && !p.open() {
			low, high := p.interval()
			effect += (low+high)/2 - level[p.Class]
			n++
		}
	}
	ratio := e.day * e.day / (e.single * e.single)
	return effect * ratio / (1 + n*ratio), e.day / math.Sqrt(1+n*ratio)
}

// scores are n normal quantiles about zero whose squares add up to what is
// expected of n values about their mean: (n−1)·sd².
func scores(n int, sd float64) []float64 {
	x, squares := make([]float64, n), 0.0
	for i := range x {
		x[i] = normalQuantile((float64(i) + 0.5) / float64(n))
		squares += x[i] * x[i]
	}
	for i := range x {
		if squares > 0 {
			x[i] *= sd * math.Sqrt(float64(n-1)/squares)
		}
	}
	return x
}

// byClass takes all pulls from the class that is expected to narrow the bound
// of the target's class most.
func (n *NextPlan) byClass(know knowledge, count int) {
	bounds := map[Class]*float64{}
	best := -1
	for i, p := range n.Allowed {
		if _, seen := bounds[p.Pull.Class]; !seen {
			bounds[p.Pull.Class] = n.expectedFrom(know, p, count)
		}
		if b := bounds[p.Pull.Class]; b != nil {
			n.Allowed[i].Gain = n.narrowed(know, *b, count)
		}
		if n.better(i, best) {
			best = i
		}
	}
	if best < 0 {
		return
	}
	for range count {
		if p := n.Allowed[best]; !n.exhausted(p) {
			n.add(p)
		}
	}
	if b := bounds[n.Allowed[best].Pull.Class]; b != nil && !n.Allowed[best].First {
		then := unit.Force(*b) * n.Target.Reference.Weight()
		n.Then = &then
	}
}

// better tells whether the allowed pull i is to be preferred: the target's own
// class where it has no bound yet, else the larger gain, else the lower peak.
func (n *NextPlan) better(i, than int) bool {
	if than < 0 {
		return true
	}
	a, b := n.Allowed[i], n.Allowed[than]
	if own := a.Pull.Class == n.Target.Class; n.ClassNow == nil && own != (b.Pull.Class == n.Target.Class) {
		return own
	}
	if a.Gain != b.Gain {
		return a.Gain > b.Gain
	}
	return a.order() < b.order()
}

// expectedFrom is the bound of the target's class after so many pulls like p on
// one new day, or nil.
func (n *NextPlan) expectedFrom(know knowledge, p NextPull, count int) *float64 {
	e, ok := know.expect(p.Pull.Class)
	if !ok || count == 0 {
		return nil
	}
	bound, ok := e.after(n.Target.Class, count, 1, false)
	if !ok {
		return nil
	}
	return &bound
}

// narrowed is by how much each of so many pulls narrows what the bound lies
// above the median.
func (n *NextPlan) narrowed(know knowledge, bound float64, count int) float64 {
	c := know.class(n.Target.Class)
	if c == nil || c.Upper == nil || !(*c.Upper > c.Median) {
		return 0
	}
	return (1 - math.Log(bound/c.Median)/math.Log(*c.Upper/c.Median)) / float64(count)
}

// days is what is expected of the bound of a class after so many pulls on the
// last logged day, on a new one, and on two or three new ones.
func (k knowledge) days(of Class, count int) (all []NextDay) {
	e, ok := k.expect(of)
	if !ok || count == 0 {
		return nil
	}
	if bound, ok := e.after(of, count, 1, true); ok {
		all = append(all, NextDay{count, 1, true, bound})
	}
	for days := 1; days <= min(count, 3); days++ {
		if bound, ok := e.after(of, count, days, false); ok {
			all = append(all, NextDay{count, days, false, bound})
		}
	}
	return all
}
