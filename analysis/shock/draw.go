package shock

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/mathext"
)

// draw is one set of values that the pulls leave possible, with its share in
// all that is possible.
type draw struct {
	weight       float64
	coefficients []float64 // logarithms, numbered as unknowns do
	spread       float64   // standard deviation of pulls of any day about the model
}

// proposal is the multivariate t distribution from which places are drawn.
type proposal struct {
	mean []float64
	root *mat.TriDense // of the covariance
}

// heavy is the degrees of freedom of proposals.
const heavy = 5

// draws are a few thousand draws of the posterior distribution of a model, the
// same ones each time: places of a proposal about where the search ended, then
// of ones about those before, weighted by how much more likely they are than the
// proposal has them (importance sampling).
func (m *speedModel) draws() []draw {
	const few, many = 600, 2500
	p := m.count()
	covariance := mat.NewSymDense(p, nil)
	for j := range p {
		for k := range j + 1 {
			covariance.SetSym(j, k, m.sigma2*m.near.inverse[j*p+k])
		}
	}
	at := proposal{m.at, factorised(covariance)}
	e := m.evidence()
	for range 6 {
		places, all := e.draw(at, few)
		at = about(places, flattened(all))
		if effective(weights(all)) > few/3 {
			break
		}
	}
	places, all := e.draw(at, many)
	for range 2 {
		if effective(weights(all)) > many/8 {
			break
		}
		other, more := e.draw(about(places, flattened(all)), many)
		if effective(weights(more)) > effective(weights(all)) {
			places, all = other, more
		}
	}
	return all
}

// factorised is the root of a covariance, or of its diagonal where it has none.
func factorised(covariance *mat.SymDense) *mat.TriDense {
	var f mat.Cholesky
	for add := 1e-12; !f.Factorize(covariance); add *= 100 {
		for j := range covariance.SymmetricDim() {
			covariance.SetSym(j, j, covariance.At(j, j)*(1+add)+add)
		}
	}
	var root mat.TriDense
	f.LTo(&root)
	return &root
}

func weights(all []draw) []float64 {
	w := make([]float64, len(all))
	for i, d := range all {
		w[i] = d.weight
	}
	return w
}

// effective is how many draws of equal weight would tell as much.
func effective(weights []float64) float64 {
	sum := 0.0
	for _, w := range weights {
		sum += w * w
	}
	return 1 / sum
}

// flattened are the weights of draws, made less unequal by roots until enough
// of them count: a few that outweigh all others would make the next proposal
// far too narrow.
func flattened(all []draw) []float64 {
	w := weights(all)
	for range 5 {
		if effective(w) > float64(len(w))/6 {
			break
		}
		total := 0.0
		for i := range w {
			w[i] = math.Sqrt(w[i])
			total += w[i]
		}
		for i := range w {
			w[i] /= total
		}
	}
	return w
}

// about is the proposal that has the mean and the covariance of weighted
// places.
func about(places [][]float64, weights []float64) proposal {
	p := len(places[0])
	mean, covariance := make([]float64, p), mat.NewSymDense(p, nil)
	for i, w := range weights {
		for j, x := range places[i] {
			mean[j] += w * x
		}
	}
	for i, w := range weights {
		for j := range p {
			for k := range j + 1 {
				covariance.SetSym(j, k, covariance.At(j, k)+w*(places[i][j]-mean[j])*(places[i][k]-mean[k]))
			}
		}
	}
	return proposal{mean, factorised(covariance)}
}

// evidence is how likely places are.
type evidence struct {
	*speedModel
	freedom float64
	shift   float64 // added to the squares, where peaks are not exact
	grid    []assumed
	offset  []float64
	slopes  []float64
	logs    []float64
}

// assumed is one ratio of the variance of days.
type assumed struct {
	ratio float64
	log   float64   // what is believed before and what days add
	share []float64 // by day
}

func (m *speedModel) evidence() *evidence {
	n := float64(len(m.obs))
	e := &evidence{
		speedModel: m, freedom: m.blurs.freedom(n),
		offset: make([]float64, len(m.days)), logs: make([]float64, steps), slopes: make([]float64, len(m.grounds)),
	}
	scale := m.blurs.scale(m, m.sigma2, m.obs)
	e.shift = m.near.rss*(scale*e.freedom/n-1) + e.freedom*leastSpread*leastSpread
	for i := range steps {
		r, before := ratio(i)
		a := assumed{ratio: r, log: math.Log(before)}
		for _, d := range m.days {
			a.share = append(a.share, d.share(r))
			a.log -= math.Log1p(r*d.weight) / 2
		}
		e.grid = append(e.grid, a)
	}
	return e
}

// draw draws places from the proposal and weighs them.
func (e *evidence) draw(from proposal, count int) (places [][]float64, all []draw) {
	p := e.count()
	logs, most := make([]float64, count), math.Inf(-1)
	for i, u := range points(count, p+3) {
		x, density := from.place(u[:p], u[p])
		d := draw{coefficients: make([]float64, p)}
		e.coefficients(d.coefficients, x)
		log := e.weigh(&d, u[p+1], u[p+2]) + e.before(x, e.slopes)
		places, all = append(places, x), append(all, d)
		logs[i] = log - density
		most = math.Max(most, logs[i])
	}
	total := 0.0
	for i, l := range logs {
		all[i].weight = math.Exp(l - most)
		total += all[i].weight
	}
	for i := range all {
		all[i].weight /= total
	}
	return places, all
}

// place is where the proposal puts a point of the unit cube, with the
// logarithm of its density there.
func (p proposal) place(u []float64, c float64) (x []float64, density float64) {
	stretch := math.Sqrt(heavy / (2 * mathext.GammaIncRegInv(heavy/2.0, c)))
	n, square := make([]float64, len(u)), 0.0
	for j := range u {
		n[j] = normalQuantile(u[j]) * stretch
		square += n[j] * n[j]
	}
	x = slices.Clone(p.mean)
	for j := range x {
		for k := range j + 1 {
			x[j] += p.root.At(j, k) * n[k]
		}
	}
	return x, -(heavy + float64(len(u))) / 2 * math.Log1p(square/heavy)
}

// weigh gives the logarithm of how likely the pulls are at the coefficients
// of d and sets its spread: the ratio of days at the share u of what is
// possible there, and the variance at the share v.
func (e *evidence) weigh(d *draw, u, v float64) (log float64) {
	goOn(e.done)
	rss := e.squares(d.coefficients)
	most := math.Inf(-1)
	for k, a := range e.grid {
		e.logs[k] = a.log - e.freedom/2*math.Log(e.left(rss, a))
		most = math.Max(most, e.logs[k])
	}
	total := 0.0
	for k, l := range e.logs {
		e.logs[k] = math.Exp(l - most)
		total += e.logs[k]
	}
	k := 0
	for u *= total; k < len(e.grid)-1 && u > e.logs[k]; k++ {
		u -= e.logs[k]
	}
	a := e.grid[k]
	d.spread = math.Sqrt(e.left(rss, a) / chiSquared(e.freedom, v) * (1 + a.ratio))
	return most + math.Log(total)
}

// chiSquared is a quantile of the χ² distribution, to 2 % or much better from
// ten degrees of freedom on (Wilson and Hilferty, Proceedings of the National
// Academy of Sciences 17, 1931, 684-688).
func chiSquared(freedom, p float64) float64 {
	part := 2 / (9 * freedom)
	return freedom * math.Pow(math.Max(0.01, 1-part+normalQuantile(p)*math.Sqrt(part)), 3)
}

// squares sums the weighted squares of residuals, the residuals by day and the
// slopes by ground.
func (e *evidence) squares(coefficients []float64) (rss float64) {
	clear(e.offset)
	clear(e.slopes)
	for i, s := range e.swings {
		o := e.obs[i]
		peak, slope := s.sloped(coefficients[s.strap], coefficients[len(e.straps)+s.ground])
		r := o.y - peak
		rss += o.weight * r * r
		e.offset[o.day] += o.weight * r
		e.slopes[s.ground] += slope * slope / e.pulls[s.ground]
	}
	return rss
}

// left is what the days leave of the squares.
func (e *evidence) left(rss float64, a assumed) float64 {
	for d, x := range e.offset {
		rss -= a.share[d] * x * x
	}
	return math.Max(rss+e.shift, e.freedom*leastSpread*leastSpread)
}

// quantile is what the values of draws stay below with probability p. Draws
// and values are in the same order.
func quantile(all []draw, p float64, value func(draw) float64) float64 {
	type weighed struct{ x, weight float64 }
	values := make([]weighed, len(all))
	for i, d := range all {
		values[i] = weighed{value(d), d.weight}
	}
	slices.SortFunc(values, func(a, b weighed) int {
		switch {
		case a.x < b.x:
			return -1
		case a.x > b.x:
			return 1
		}
		return 0
	})
	before := weighed{values[0].x, 0}
	for _, v := range values {
		if v.weight >= p {
			if before.weight == 0 || math.IsInf(v.x, 1) {
				return v.x
			}
			return before.x + (v.x-before.x)*p/v.weight
		}
		p -= v.weight
		before = v
	}
	return before.x
}
