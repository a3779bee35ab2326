package tracefile

import "math"

// Grid is a stretch of times on an even grid: time i is Start + i·Step,
// rounded to a nanosecond, halves away from zero.
type Grid struct {
	Start int64
	Step  float64
	N     int
}

// Gridder cuts rising times into grids that give every one of them back to
// the nanosecond. Each grid reaches as far as one step can. The zero value is
// ready.
type Gridder struct {
	start, last int64
	n           int
	low, high   float64 // a step from low to high gives all times back
}

// Add takes the next time. When that does not fit on the grid so far, it
// gives that grid, complete, and begins another.
func (g *Gridder) Add(t int64) (done Grid, ok bool) {
	if g.n > 0 && g.fits(t) {
		g.last = t
		g.n++
		return Grid{}, false
	}
	done, ok = g.Close()
	*g = Gridder{start: t, last: t, n: 1, high: math.Inf(1)}
	return done, ok
}

// fits narrows the step so that the grid reaches t, if it can.
//
// The divisions here and the multiplication in At each round, by at most
// 2⁻⁵³ of the time since the start: four times that is kept clear of the
// halves, so that no rounding can go the other way.
func (g *Gridder) fits(t int64) bool {
	d, n := float64(t-g.start), float64(g.n)
	clear := d * 0x1p-51
	low, high := math.Max(g.low, (d-0.5+clear)/n), math.Min(g.high, (d+0.5-clear)/n)
	if !(low <= high) || t-g.start > 1<<50 {
		return false
	}
	trial := *g
	trial.low, trial.high = low, high
	trial.n++
	if int64(math.Round(trial.step()*n)) != t-g.start {
		return false
	}
	g.low, g.high = low, high
	return true
}

// step is the one to store: a whole number of nanoseconds if there is one,
// which says more and packs better than a fraction.
func (g *Gridder) step() float64 {
	if g.n < 2 {
		return 1e6
	}
	middle := (g.low + g.high) / 2
	if whole := math.Round(middle); whole >= g.low && whole <= g.high {
		return whole
	}
	return middle
}

// Close gives the last grid, if there is one.
func (g *Gridder) Close() (Grid, bool) {
	if g.n == 0 {
		return Grid{}, false
	}
	done := Grid{Start: g.start, Step: g.step(), N: g.n}
	g.n = 0
	return done, true
}
