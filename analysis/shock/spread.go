package shock

import "math"

// spreads is how the variances of single pulls of the classes compare. They
// are not the same, and not each one's own affair either: a variance is taken
// to be drawn from what is common to all, s0²·d0/χ² with d0 degrees of freedom,
// which pulls the ones of few pulls towards the others (Smyth, Statistical
// Applications in Genetics and Molecular Biology 3, 2004, article 3). How alike
// they are, d0, is not fixed but weighed.
type spreads struct {
	relative []float64 // variance over that of a class that is like the others
	squares  []float64 // Σ of squares about level and day
	freedom  []float64 // degrees of freedom of squares
	prior    []drawn
}

// drawn is one assumption of how alike the classes are.
type drawn struct {
	d0     float64 // +Inf: all the same
	s02    float64
	weight float64
}

// option is one assumption of the variance of a class.
type option struct {
	weight   float64
	variance float64
	chi      *chi
}

func alike(classes int) spreads {
	s := spreads{relative: make([]float64, classes), squares: make([]float64, classes), freedom: make([]float64, classes)}
	for j := range s.relative {
		s.relative[j] = 1
	}
	return s
}

// update learns the variances from the latest fit and tells whether any moved
// by much.
func (s *spreads) update(m *model, obs []observation) (moved bool) {
	if len(s.relative) == 1 {
		return false
	}
	clear(s.squares)
	clear(s.freedom)
	for _, o := range obs {
		mean, v := m.equations.fitted(m.best, o)
		s.squares[o.class] += o.exact * o.exact * (o.y - mean) * (o.y - mean)
		s.freedom[o.class] += o.exact * math.Max(0, 1-v*o.weight)
	}
	s.weigh()
	mean, count := 0.0, 0.0
	next := make([]float64, len(s.relative))
	for j := range next {
		for _, p := range s.prior {
			next[j] += p.weight * math.Log(p.variance(s.squares[j], s.freedom[j]))
		}
		mean += s.freedom[j] * next[j]
		count += s.freedom[j]
	}
	for j := range next {
		r := math.Exp(next[j] - mean/count)
		moved = moved || math.Abs(r-s.relative[j]) > 0.01*r
		s.relative[j] = r
	}
	return moved
}

// variance is what to expect of a class after its squares were seen.
func (p drawn) variance(squares, freedom float64) float64 {
	if math.IsInf(p.d0, 1) {
		return p.s02
	}
	return (p.d0*p.s02 + squares) / (p.d0 + freedom)
}

// alikeness is what is believed of how alike classes are before anything is
// seen: that all are just the same is thought little likely. The less likely,
// the better the bound of the class that truly spreads most, which borrowing
// makes too low, and the higher all the others. TestClubs shows what comes of
// it.
var alikeness = [...]struct{ d0, before float64 }{{3, 1}, {8, 1}, {24, 0.5}, {math.Inf(1), 0.1}}

// weigh weighs how alike the classes are by how likely their squares are.
func (s *spreads) weigh() {
	s.prior = s.prior[:0]
	most := math.Inf(-1)
	for _, a := range alikeness {
		p := drawn{d0: a.d0, s02: s.common(a.d0)}
		p.weight = s.likelihood(p) + math.Log(a.before)
		most = math.Max(most, p.weight)
		s.prior = append(s.prior, p)
	}
	total := 0.0
	for i, p := range s.prior {
		s.prior[i].weight = math.Exp(p.weight - most)
		total += s.prior[i].weight
	}
	for i := range s.prior {
		s.prior[i].weight /= total
	}
}

// enough is how many degrees of freedom a class must have to have a say.
const enough = 0.5

// common is s0² for d0: from the logarithms of the variances, whose means and
// variances under either distribution are near enough ∓1/d and 2/d.
func (s *spreads) common(d0 float64) float64 {
	sum, weights, squares, freedom := 0.0, 0.0, 0.0, 0.0
	for j, d := range s.freedom {
		squares += s.squares[j]
		freedom += d
		if d > enough && s.squares[j] > 0 {
			w := 1 / (2/d + 2/d0)
			sum += w * (math.Log(s.squares[j]/d) + 1/d - 1/d0)
			weights += w
		}
	}
	if math.IsInf(d0, 1) || weights == 0 {
		return math.Max(squares/math.Max(freedom, enough), leastSpread*leastSpread)
	}
	return math.Max(math.Exp(sum/weights), leastSpread*leastSpread)
}

// likelihood is the logarithm of the likelihood of the variances: F
// distributed about s0², or as χ² where all are the same.
func (s *spreads) likelihood(p drawn) (sum float64) {
	half := func(x float64) float64 { l, _ := math.Lgamma(x / 2); return l }
	for j, d := range s.freedom {
		if d <= enough || s.squares[j] <= 0 {
			continue
		}
		x := s.squares[j] / d / p.s02
		sum += d/2*math.Log(x) - half(d)
		if math.IsInf(p.d0, 1) {
			sum += d/2*math.Log(d/2) - d*x/2
			continue
		}
		sum += half(d+p.d0) - half(p.d0) + d/2*math.Log(d/p.d0) - (d+p.d0)/2*math.Log1p(d*x/p.d0)
	}
	return sum
}

// options are the variances that class j may have. pooled is the variance of
// all together with its degrees of freedom.
func (s *spreads) options(j int, pooled, freedom float64) (all []option) {
	for _, p := range s.prior {
		if math.IsInf(p.d0, 1) {
			all = append(all, option{p.weight, p.s02, newChi(freedom, 0.6, 14)})
			continue
		}
		all = append(all, option{p.weight, p.variance(s.squares[j], s.freedom[j]), newChi(p.d0+s.freedom[j], 0.6, 14)})
	}
	if len(all) == 0 {
		all = []option{{1, pooled, newChi(freedom, 0.6, 14)}}
	}
	return all
}
