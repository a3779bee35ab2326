package pull

import "sort"

// outline keeps the course of a pull in bounded memory: every sample while
// they fit, later the smallest and the largest of each group, in the order
// in which they came. All points are samples of the trace.
type outline struct {
	t      []int64
	f      []float64
	group  int // samples that make two points; 1: every sample is a point
	n      int // samples in the group that is open
	lo, hi point
}

type point struct {
	t int64
	f float64
}

const outlineSize = 1 << 16

// again empties the outline for another pull, which takes over its memory.
func (o *outline) again() *outline {
	*o = outline{t: o.t[:0], f: o.f[:0]}
	return o
}

func (o *outline) add(t int64, f float64) {
	if o.group <= 1 {
		o.append(point{t, f})
		return
	}
	p := point{t, f}
	if o.n == 0 {
		o.lo, o.hi = p, p
	} else if f < o.lo.f {
		o.lo = p
	} else if f > o.hi.f {
		o.hi = p
	}
	if o.n++; o.n == o.group {
		o.closeGroup()
	}
}

func (o *outline) closeGroup() {
	a, b := o.lo, o.hi
	if a.t > b.t {
		a, b = b, a
	}
	o.n = 0
	o.append(a)
	if b.t != a.t {
		o.append(b)
	}
}

func (o *outline) append(p point) {
	if len(o.t) >= outlineSize {
		o.thin()
	}
	o.t = append(o.t, p.t)
	o.f = append(o.f, p.f)
}

// thin halves the points: of each four, the smallest and the largest stay.
func (o *outline) thin() {
	if o.group <= 1 {
		o.group = 2
	}
	o.group *= 2
	kept := 0
	for i := 0; i < len(o.t); i += 4 {
		end := min(i+4, len(o.t))
		lo, hi := i, i
		for j := i + 1; j < end; j++ {
			if o.f[j] < o.f[lo] {
				lo = j
			} else if o.f[j] > o.f[hi] {
				hi = j
			}
		}
		if lo > hi {
			lo, hi = hi, lo
		}
		tl, fl, th, fh := o.t[lo], o.f[lo], o.t[hi], o.f[hi]
		o.t[kept], o.f[kept] = tl, fl
		kept++
		if hi != lo {
			o.t[kept], o.f[kept] = th, fh
			kept++
		}
	}
	o.t, o.f = o.t[:kept], o.f[:kept]
}

// lastAbove is the time of the last point above a level; of the first point
// where there is none.
func (o *outline) lastAbove(level float64) int64 {
	for i := len(o.t) - 1; i >= 0; i-- {
		if o.f[i] > level || i == 0 {
			return o.t[i]
		}
	}
	return 0
}

// course is a stretch of a pull, the zero taken off, for the measuring.
type course struct {
	t []int64
	f []float64
}

// until gives a copy of the course up to end, with zero taken off.
func (o *outline) until(end int64, zero float64) course {
	n := sort.Search(len(o.t), func(i int) bool { return o.t[i] > end })
	c := course{t: append([]int64(nil), o.t[:n]...), f: make([]float64, n)}
	for i := range c.f {
		c.f[i] = o.f[i] - zero
	}
	if o.n > 0 {
		for _, p := range []point{o.lo, o.hi} {
			if p.t <= end && (len(c.t) == 0 || p.t > c.t[len(c.t)-1]) {
				c.t = append(c.t, p.t)
				c.f = append(c.f, p.f-zero)
			}
		}
	}
	return c
}

// from is the index of the first point at or behind t.
func (c course) from(t int64) int {
	return sort.Search(len(c.t), func(i int) bool { return c.t[i] >= t })
}

// seconds is the time from point i to point j.
func (c course) seconds(i, j int) float64 { return float64(c.t[j]-c.t[i]) / 1e9 }

// between cuts the course to the times from a to b.
func (c course) between(a, b int64) course {
	i, j := c.from(a), c.from(b+1)
	if j < i {
		j = i
	}
	return course{c.t[i:j], c.f[i:j]}
}

// above is the time in seconds that the course spends at or above a level,
// straight lines taken between its points.
func (c course) above(level float64) float64 {
	var sum float64
	for i := 1; i < len(c.t); i++ {
		a, b, d := c.f[i-1]-level, c.f[i]-level, c.seconds(i-1, i)
		switch {
		case a >= 0 && b >= 0:
			sum += d
		case a >= 0:
			sum += d * a / (a - b)
		case b >= 0:
			sum += d * b / (b - a)
		}
	}
	return sum
}

// impulse is the integral of the course by the trapezoid rule.
func (c course) impulse() float64 {
	var sum float64
	for i := 1; i < len(c.t); i++ {
		sum += c.seconds(i-1, i) * (c.f[i-1] + c.f[i]) / 2
	}
	return sum
}
