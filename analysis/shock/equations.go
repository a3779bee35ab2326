package shock

import "math"

// ratios are variances over that of single pulls of one day: of the levels of
// classes about their common level, and of days.
type ratios struct{ classes, days float64 }

// observation is one pull in the equations.
type observation struct {
	class, day int
	y          float64 // logarithm of the shock factor
	exact      float64 // 1 where y is exact, less where it is not
	weight     float64 // exact over how the variance of the class compares
}

// equations are the sums over one kind of pulls from which, for any ratios,
// the levels of the classes follow:
//
//	y = level[class] + effect[day] + error, variance of error σ²/weight
//
// The days are eliminated one by one, so that what is left is as large as
// there are classes (Henderson's equations, absorbed).
type equations struct {
	classes int
	count   int
	class   []sum // one a class
	days    []day
	square  float64 // Σ weight·y²
}

type sum struct{ weight, y float64 } // Σ weight, Σ weight·y

type day struct {
	sum
	parts []part // by class
}

type part struct {
	class  int
	weight float64
}

func newEquations(obs []observation, classes, days int) *equations {
	e := &equations{classes: classes, count: len(obs), class: make([]sum, classes), days: make([]day, days)}
	for _, o := range obs {
		wy := o.weight * o.y
		e.square += wy * o.y
		e.class[o.class].weight += o.weight
		e.class[o.class].y += wy
		d := &e.days[o.day]
		d.weight += o.weight
		d.y += wy
		d.add(o.class, o.weight)
	}
	return e
}

func (d *day) add(class int, weight float64) {
	for i := range d.parts {
		if d.parts[i].class == class {
			d.parts[i].weight += weight
			return
		}
	}
	d.parts = append(d.parts, part{class, weight})
}

// absorbed are the equations with the days taken out, for one ratio of days.
type absorbed struct {
	n      int
	matrix []float64 // n×n, symmetric
	right  []float64
	square float64
	logdet float64
}

// share is how much of a day's mean deviation counts as the day's.
func (d day) share(ratio float64) float64 { return ratio / (1 + ratio*d.weight) }

func (e *equations) absorb(ratio float64) absorbed {
	a := absorbed{n: e.classes, matrix: make([]float64, e.classes*e.classes), right: make([]float64, e.classes), square: e.square}
	for j, s := range e.class {
		a.matrix[j*a.n+j], a.right[j] = s.weight, s.y
	}
	for _, d := range e.days {
		f := d.share(ratio)
		a.logdet += math.Log1p(ratio * d.weight)
		a.square -= f * d.y * d.y
		for _, p := range d.parts {
			a.right[p.class] -= f * d.y * p.weight
			for _, q := range d.parts {
				a.matrix[p.class*a.n+q.class] -= f * p.weight * q.weight
			}
		}
	}
	return a
}

// solution is what follows for one pair of ratios.
type solution struct {
	ratios  ratios
	level   []float64
	inverse []float64 // n×n: covariance of the levels over σ²
	rss     float64   // weighted squares about it all
	logdet  float64
}

// solve takes the classes to vary about a common level of which nothing is
// known.
func (a absorbed) solve(r ratios) solution {
	n := a.n
	m := append([]float64(nil), a.matrix...)
	s := solution{ratios: r, logdet: a.logdet}
	if n > 1 {
		pull := 1 / r.classes
		s.logdet -= float64(n-1) * math.Log(pull)
		for i := range m {
			m[i] -= pull / float64(n)
		}
		for j := range n {
			m[j*n+j] += pull
		}
	}
	s.logdet += invert(m, n)
	s.inverse, s.level, s.rss = m, make([]float64, n), a.square
	for i := range n {
		for j := range n {
			s.level[i] += m[i*n+j] * a.right[j]
		}
		s.rss -= s.level[i] * a.right[i]
	}
	return s
}

// invert replaces a symmetric positive definite matrix by its inverse and
// gives the logarithm of its determinant. Gauss and Jordan without exchange of
// rows, which such a matrix does not need.
func invert(m []float64, n int) (logdet float64) {
	for k := range n {
		row := m[k*n : k*n+n]
		pivot := row[k]
		logdet += math.Log(pivot)
		row[k] = 1
		for j := range row {
			row[j] /= pivot
		}
		for i := range n {
			if i == k {
				continue
			}
			other := m[i*n : i*n+n]
			f := other[k]
			other[k] = 0
			for j := range other {
				other[j] -= f * row[j]
			}
		}
	}
	return logdet
}

// fitted is the mean of an observation, its class and day together, with its
// variance over σ².
func (e *equations) fitted(s solution, o observation) (mean, variance float64) {
	n, d := e.classes, e.days[o.day]
	f := d.share(s.ratios.days)
	c := make([]float64, n)
	c[o.class] = 1
	for _, p := range d.parts {
		c[p.class] -= f * p.weight
	}
	mean, variance = f*d.y, f
	for i, ci := range c {
		mean += ci * s.level[i]
		for j, cj := range c {
			variance += ci * cj * s.inverse[i*n+j]
		}
	}
	return mean, variance
}
