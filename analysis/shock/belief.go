package shock

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// belief is what is known of one class: a level μ and a standard deviation σ
// of single values, neither of them exactly. It is a mixture over nodes, each
// with one assumption of how spreads compare. Given the node, σ² is root²/χ²
// and μ is normal about mean with the standard deviation sd·σ; a future value
// is normal about μ with the standard deviation reach·σ.
//
// With one node, mean m, root² = Σ(y−m)², sd = 1/√n and reach = 1 its
// quantiles are those of the noncentral t distribution.
type belief []node

type node struct {
	weight float64 // all weights add up to 1
	chi    *chi
	mean   float64
	root   float64
	sd     float64
	reach  float64
}

// below is the probability that μ + z·reach·σ, the value that the share Φ(z)
// of all future values stays below, is at most x.
func (b belief) below(x, z float64) float64 {
	p := 0.0
	for _, n := range b {
		// σ = root·g: (x − mean − z·reach·root·g)/(sd·root·g).
		a, c := (x-n.mean)/(n.sd*n.root), z*n.reach/n.sd
		q := 0.0
		for i, g := range n.chi.inverse {
			switch x := c - a*g; {
			case x < -6: // nothing to seven digits, but much quicker
				q += 2 * n.chi.weight[i]
			case x < 6:
				q += n.chi.weight[i] * math.Erfc(x*math.Sqrt2/2)
			}
		}
		p += n.weight * q / 2
	}
	return p
}

// quantile is the value that μ + z·reach·σ stays below with probability p.
func (b belief) quantile(p, z float64) float64 {
	middle, width := 0.0, 0.0
	for _, n := range b {
		sigma := n.root / math.Sqrt(math.Max(n.chi.freedom, 1))
		middle += n.weight * (n.mean + z*n.reach*sigma)
		width += n.weight * sigma * math.Hypot(n.sd, z*n.reach)
	}
	return rising(func(x float64) float64 { return b.below(x, z) - p }, middle, width)
}

// median is the middle of what is believed of μ.
func (b belief) median() float64 {
	m := 0.0
	for _, n := range b {
		m += n.weight * n.mean
	}
	return m
}

// total is a middling standard deviation of future values about their level.
func (b belief) total() float64 {
	s := 0.0
	for _, n := range b {
		s += n.weight * n.reach * n.root / math.Sqrt(n.chi.freedom)
	}
	return s
}

// above is the share of future values above x that is not exceeded with
// probability p.
func (b belief) above(x, p float64) float64 {
	// The share is at most Φ(−z) just where μ + z·reach·σ is at most x.
	minus := rising(func(minus float64) float64 { return b.below(x, -minus) - p }, 0, 1)
	return math.Erfc(-minus/math.Sqrt2) / 2
}

// chi is the χ² distribution as a sum: 1/σ takes the value inverse[i] (in
// units of 1/root) with probability weight[i].
type chi struct {
	freedom float64
	inverse []float64
	weight  []float64
}

// newChi lays the trapezoidal rule over the logarithm of χ², which is smooth
// and has light ends there, so that few steps give many digits.
//
// step is in standard deviations of the logarithm near its peak, but at most
// 0.25 (with few degrees of freedom the ends are less light); it ends where
// the density has fallen by the exponential of ends. 0.4 and 21 give seven
// digits of a tolerance factor, 0.6 and 14 five.
func newChi(freedom, step, ends float64) *chi {
	const most = 0.25
	c := &chi{freedom: freedom}
	mode, h := math.Log(freedom), math.Min(most, step*math.Sqrt(2/freedom))
	total := 0.0
	add := func(i int) bool {
		u := float64(i) * h
		fall := freedom / 2 * (math.Expm1(u) - u)
		w := math.Exp(-fall)
		c.inverse, c.weight = append(c.inverse, math.Exp((mode+u)/2)), append(c.weight, w)
		total += w
		return fall < ends
	}
	for i := 0; add(i); i++ {
	}
	for i := -1; add(i); i-- {
	}
	for i := range c.weight {
		c.weight[i] /= total
	}
	return c
}

func normalQuantile(p float64) float64 { return distuv.UnitNormal.Quantile(p) }

// rising finds where f, which rises from below zero to above, is zero. The
// search begins about middle, at the scale of width.
func rising(f func(float64) float64, middle, width float64) float64 {
	if !(width > 0) {
		return middle
	}
	low, high := middle-width, middle+width
	fl, fh := f(low), f(high)
	for step := width; fl > 0; fl = f(low) {
		high, fh = low, fl
		step *= 2
		low -= step
	}
	for step := width; fh < 0; fh = f(high) {
		low, fl = high, fh
		step *= 2
		high += step
	}
	return between(f, low, high, fl, fh, 1e-9*width)
}

// between closes in on the zero between low and high: regula falsi in which an
// end that stays is given less weight (the Illinois way: Dowell and Jarratt,
// BIT 11, 1971, 168-174).
func between(f func(float64) float64, low, high, fl, fh, tolerance float64) float64 {
	for side := 0; high-low > tolerance; {
		x := (low*fh - high*fl) / (fh - fl)
		if !(x > low && x < high) {
			return (low + high) / 2
		}
		fx := f(x)
		switch {
		case math.Abs(fx) < 1e-10:
			return x
		case fx > 0:
			high, fh = x, fx
			if side == 1 {
				fl /= 2
			}
			side = 1
		default:
			low, fl = x, fx
			if side == -1 {
				fh /= 2
			}
			side = -1
		}
	}
	return (low + high) / 2
}
