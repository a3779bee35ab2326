package shock

import "math"

// steps is how many ratios of each kind are weighed.
const steps = 16

// leastSpread is the smallest standard deviation of the logarithm that is
// believed: a thousandth of the peak. It keeps equal peaks from looking like
// knowledge.
const leastSpread = 1e-3

// model is one kind of pulls, fitted.
type model struct {
	equations *equations
	best      solution
	sigma2    float64  // variance of single pulls at best
	beliefs   []belief // one a class
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
func believe(all []likely, best int, classes int, freedom, scale float64) []belief {
	const negligible = 1e-5
	weights, total := make([]float64, len(all)), 0.0
	for i, l := range all {
		if w := math.Exp(l.log - all[best].log); w > negligible {
			weights[i] = w
			total += w
		}
	}
	spread := newChi(freedom)
	beliefs := make([]belief, classes)
	for j := range beliefs {
		b := belief{spread: spread}
		for i, l := range all {
			if weights[i] > 0 {
				b.nodes = append(b.nodes, node{
					weight: weights[i] / total, mean: l.level[j], root: math.Sqrt(l.rss * scale),
					sd: math.Sqrt(l.inverse[j*classes+j]), reach: math.Sqrt(1 + l.ratios.days),
				})
			}
		}
		beliefs[j] = b
	}
	return beliefs
}
