package shock

import "math"

// steps is how many ratios of each kind are weighed.
const steps = 12

// leastSpread is the smallest standard deviation of the logarithm that is
// believed: a thousandth of the peak. It keeps equal peaks from looking like
// knowledge.
const leastSpread = 1e-3

// model is one kind of pulls, fitted.
type model struct {
	equations *equations
	best      solution
	sigma2    float64  // variance of single pulls at best, of a class that is like the others
	spreads   spreads  // how the classes differ in that
	beliefs   []belief // one a class
}

func (m *model) fitted(_ int, o observation) (mean, variance float64) {
	return m.equations.fitted(m.best, o)
}

// likely is a solution and how well it agrees with the pulls.
type likely struct {
	solution
	log float64
}

// weigh solves for a grid of ratios. freedom is how many degrees of freedom
// the variance of single pulls has.
func (e *equations) weigh(freedom float64) (all []likely, best int) {
	for i := range steps {
		days, prior := ratio(i)
		a := e.absorb(days)
		for j := range steps {
			classes, _ := ratio(j)
			s := a.solve(ratios{classes, days})
			s.rss = math.Max(s.rss, freedom*leastSpread*leastSpread)
			l := likely{s, math.Log(prior) - s.logdet/2 - freedom/2*math.Log(s.rss)}
			if all = append(all, l); l.log > all[best].log {
				best = len(all) - 1
			}
			if e.classes == 1 {
				break
			}
		}
	}
	return all, best
}

// ratio is the i-th ratio of variances. The steps are those of an angle whose
// tangent is the root of the ratio, which leaves no end out.
//
// What is believed before anything is seen: each step is as likely as the next
// for classes, which is a half-Cauchy prior on the ratio of standard deviations
// (Gelman, Bayesian Analysis 1, 2006, 515-533). For days it is lighter, of a t
// distribution with two degrees of freedom (weight the cosine), so that a few
// days do not make the bound useless. TestClubs shows what comes of it.
func ratio(i int) (r, days float64) {
	angle := (float64(i) + 0.5) / steps * math.Pi / 2
	t := math.Tan(angle)
	return t * t, math.Cos(angle)
}

// believe makes of the weighed solutions what is known of each class. scale
// corrects the weighted squares where observations are not exact.
func (m *model) believe(all []likely, best int, freedom, scale float64) {
	const negligible = 1e-3
	weights, total := make([]float64, len(all)), 0.0
	for i, l := range all {
		if w := math.Exp(l.log - all[best].log); w > negligible {
			weights[i] = w
			total += w
		}
	}
	m.beliefs = make([]belief, m.equations.classes)
	for j := range m.beliefs {
		for _, o := range m.spreads.options(j, m.best.rss*scale/freedom, freedom) {
			for i, l := range all {
				if w := weights[i] / total * o.weight; w > negligible*1e-2 {
					m.beliefs[j] = append(m.beliefs[j], l.node(j, w, o, m.best.rss, scale/freedom))
				}
			}
		}
		m.beliefs[j].normalise()
	}
}

// node is what the solution says of class j if its spread is as o has it.
func (l likely) node(j int, weight float64, o option, best, scale float64) node {
	own := o.variance * l.rss / best
	others := l.rss * scale // variance of a class that is like the others
	n := int(math.Sqrt(float64(len(l.inverse))))
	return node{
		weight: weight, chi: o.chi, mean: l.level[j], root: math.Sqrt(own * o.chi.freedom),
		sd: math.Sqrt(l.inverse[j*n+j] * others / own), reach: math.Sqrt(1 + l.ratios.days*others/own),
	}
}

func (b belief) normalise() {
	total := 0.0
	for _, n := range b {
		total += n.weight
	}
	for i := range b {
		b[i].weight /= total
	}
}
