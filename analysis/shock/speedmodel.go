package shock

import "math"

// speedModel is the speed fit under way:
//
//	logarithm of the peak = model(coefficients) + effect[day] + error
//
// with peaks that are known as intervals replaced as in the class fit.
type speedModel struct {
	unknowns
	done   <-chan struct{} // closed when the fit is not wanted any more
	obs    []observation
	blurs  *blurs
	days   []day     // weights only
	at     []float64 // where the search stands
	ratio  float64   // variance of days over that of single pulls
	sigma2 float64   // variance of single pulls
	near   nearby
}

// nearby is the model about one place, as if it were linear there.
type nearby struct {
	residual []float64 // of each pull
	slope    []float64 // count()×pulls: change of the peak with each unknown
	inverse  []float64 // covariance over sigma2
	logdet   float64
	rss      float64
	offset   []float64 // by day, weighted sum of residuals
	lean     []float64 // by day and unknown, weighted sum of slopes
}

// fitSpeed fits the model; false where no search settles.
func fitSpeed(done <-chan struct{}, pulls []Pull) (*speedModel, bool) {
	m := &speedModel{done: done, unknowns: unknownsOf(pulls), obs: make([]observation, len(pulls)), sigma2: 1e-4}
	names := index[string]{}
	readings := make([]reading, len(pulls))
	for i, p := range pulls {
		readings[i] = p.reading(0, names.of(p.Day))
	}
	m.days = make([]day, len(names))
	m.blurs = newBlurs(readings, m.obs)
	m.weighDays()
	if !m.search(m.starts(m.obs)...) {
		return nil, false
	}
	for range 2 { // without days, which would take for theirs what is still wrong
		m.spread()
		m.search(m.at)
	}
	const rounds = 12
	for round := range rounds {
		m.linearise()
		m.chooseRatio()
		m.search(m.at)
		m.spread()
		if moved := m.blurs.sharpen(m, m.sigma2, []float64{1}, m.obs); !moved && round > 1 {
			break
		}
		m.weighDays()
	}
	return m, true
}

// spread takes the variance of single pulls where the search stands.
func (m *speedModel) spread() {
	m.linearise()
	m.invertAt(m.ratio)
	freedom := math.Max(1, float64(len(m.obs)-m.count()))
	m.sigma2 = math.Max(m.near.rss*m.blurs.scale(m, m.near.rss/freedom, m.obs)/freedom, leastSpread*leastSpread)
}

// weighDays sums the weights of each day.
func (m *speedModel) weighDays() {
	for d := range m.days {
		m.days[d].weight = 0
	}
	for _, o := range m.obs {
		m.days[o.day].weight += o.weight
	}
}

// search makes the squares least, days and what is believed before included,
// from each of several starts, and keeps the best place.
func (m *speedModel) search(starts ...[]float64) (ok bool) {
	n, straps := len(m.obs), len(m.straps)
	coefficients, sums := make([]float64, m.count()), make([]float64, len(m.days))
	problem := Problem{Count: n + len(m.grounds), Tolerance: 1e-6, Residuals: func(into, x []float64) {
		goOn(m.done)
		m.coefficients(coefficients, x)
		m.peaks(into, coefficients)
		clear(sums)
		for i, o := range m.obs {
			into[i] = o.y - into[i]
			sums[o.day] += o.weight * into[i]
		}
		for i, o := range m.obs {
			d := m.days[o.day]
			shrunk := (1 - 1/math.Sqrt(1+m.ratio*d.weight)) * sums[o.day] / d.weight
			into[i] = math.Sqrt(o.weight) * (into[i] - shrunk)
		}
		for g, z := range x[straps:] {
			into[n+g] = prior(z) * math.Sqrt(m.sigma2)
		}
	}}
	least := math.Inf(1)
	for _, from := range starts {
		s, err := LeastSquares(problem, from)
		if err == nil && s.RSS < least {
			least, ok, m.at = s.RSS, true, s.Parameters
		}
	}
	return ok
}

// prior is what is believed of the logit z of a ground, as a residual: half
// its square is the logarithm of the density at zero over that at z.
func prior(z float64) float64 {
	a := math.Abs(z)
	return math.Copysign(math.Sqrt(2*(a+2*math.Log1p(math.Exp(-a))-2*math.Ln2)), z)
}

// linearise takes residuals and slopes where the search stands.
func (m *speedModel) linearise() {
	n, p := len(m.obs), m.count()
	near := &m.near
	near.residual, near.slope = make([]float64, n), make([]float64, n*p)
	near.offset, near.lean = make([]float64, len(m.days)), make([]float64, len(m.days)*p)
	coefficients, down := make([]float64, p), make([]float64, n)
	x := append([]float64(nil), m.at...)
	peaks := func(into []float64, j int, v float64) {
		x[j] = v
		m.coefficients(coefficients, x)
		m.peaks(into, coefficients)
		x[j] = m.at[j]
	}
	const h = 1e-4
	for j, v := range m.at {
		up := near.slope[j*n : j*n+n]
		peaks(up, j, v+h)
		peaks(down, j, v-h)
		for i, o := range m.obs {
			up[i] = (up[i] - down[i]) / (2 * h)
			near.lean[o.day*p+j] += o.weight * up[i]
		}
	}
	peaks(near.residual, 0, m.at[0])
	for i, o := range m.obs {
		near.residual[i] = o.y - near.residual[i]
		near.offset[o.day] += o.weight * near.residual[i]
	}
}

// chooseRatio takes the ratio of variances that agrees best with the pulls.
func (m *speedModel) chooseRatio() {
	most := math.Inf(-1)
	freedom := m.blurs.freedom(float64(len(m.obs) - m.count()))
	best := 0.0
	for i := range steps {
		r, before := ratio(i)
		m.invertAt(r)
		rss := m.near.rss + freedom*leastSpread*leastSpread
		log := math.Log(before) - m.near.logdet/2 - freedom/2*math.Log(rss)
		if log > most {
			most, best = log, r
		}
	}
	m.ratio = best
}

// invertAt solves the linear equations for a ratio of days.
func (m *speedModel) invertAt(ratio float64) {
	n, p, near := len(m.obs), m.count(), &m.near
	a, b := make([]float64, p*p), make([]float64, p)
	near.rss, near.logdet = 0, 0
	for i, o := range m.obs {
		near.rss += o.weight * near.residual[i] * near.residual[i]
		for j := range p {
			wj := o.weight * near.slope[j*n+i]
			b[j] += wj * near.residual[i]
			for k := range j + 1 {
				a[j*p+k] += wj * near.slope[k*n+i]
			}
		}
	}
	for d, day := range m.days {
		f := day.share(ratio)
		near.logdet += math.Log1p(ratio * day.weight)
		near.rss -= f * near.offset[d] * near.offset[d]
		for j := range p {
			b[j] -= f * near.lean[d*p+j] * near.offset[d]
			for k := range j + 1 {
				a[j*p+k] -= f * near.lean[d*p+j] * near.lean[d*p+k]
			}
		}
	}
	m.curve(a)
	near.logdet += invert(a, p)
	near.inverse = a
	for j := range p {
		for k := range p {
			near.rss -= b[j] * a[j*p+k] * b[k]
		}
	}
}

// curve completes the symmetric matrix and adds what is believed before.
func (m *speedModel) curve(a []float64) {
	p, straps := m.count(), len(m.straps)
	for j := range p {
		for k := range j {
			a[k*p+j] = a[j*p+k]
		}
		a[j*p+j] += 1e-6 * m.sigma2 // of straps, next to nothing
		if j >= straps {
			q := 1 / (1 + math.Exp(-m.at[j]))
			a[j*p+j] += m.sigma2 * math.Max(2*q*(1-q), 0.05)
		}
	}
}

// fitted is the mean of a pull, its day included, with its variance over that
// of single pulls.
func (m *speedModel) fitted(i int, o observation) (mean, variance float64) {
	n, p, near := len(m.obs), m.count(), &m.near
	f := m.days[o.day].share(m.ratio)
	c := make([]float64, p)
	for j := range c {
		c[j] = near.slope[j*n+i] - f*near.lean[o.day*p+j]
	}
	variance = f
	for j, cj := range c {
		for k, ck := range c {
			variance += cj * ck * near.inverse[j*p+k]
		}
	}
	return o.y - near.residual[i] + f*near.offset[o.day], variance
}
