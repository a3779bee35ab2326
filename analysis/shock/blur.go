package shock

import "math"

// reading is where the logarithm of a shock factor lies.
type reading struct {
	class, day int
	low, high  float64 // equal where it is exact; high may be +Inf
	missed     bool    // high is +Inf, but only what fell between readings is missing
}

// width is from which width on, in standard deviations of single pulls, an
// interval is more than a blur about its middle.
const width = 0.2

// fitKind fits pulls of one kind. Where a peak is only known to lie in an
// interval, the interval is what enters: it is replaced by the value and the
// weight that have the same effect on the rest (expectation propagation:
// Minka, Uncertainty in Artificial Intelligence 17, 2001, 362-369), found in a
// few rounds.
func fitKind(readings []reading, classes, days int) model {
	obs := make([]observation, len(readings))
	blurs := newBlurs(readings, obs)
	m := model{spreads: alike(classes)}
	const rounds = 12
	for round := 0; ; round++ {
		m.equations = newEquations(obs, classes, days)
		freedom := float64(len(obs) - 1)
		all, best := m.equations.weigh(blurs.freedom(freedom))
		m.best = all[best].solution
		scale := blurs.scale(&m, m.best.rss/freedom, obs)
		m.sigma2 = m.best.rss * scale / freedom
		moved := round < 4 && m.spreads.update(&m, obs)
		if moved = blurs.sharpen(&m, m.sigma2, m.spreads.relative, obs) || moved; round == rounds || !moved {
			left := blurs.freedom(freedom)
			m.believe(all, best, left, scale*left/freedom)
			return m
		}
	}
}

// blurs are the readings of which the value is not exact.
type blurs struct {
	readings []reading
	extra    []float64 // variance that the interval adds
	inexact  bool
	weights2 float64 // Σ weight²
	miss     float64 // mean of what fell between readings
	missed   sum     // how often and how much, in the latest round
}

func newBlurs(readings []reading, obs []observation) *blurs {
	b := &blurs{readings: readings, extra: make([]float64, len(readings)), weights2: float64(len(readings)), miss: usualMiss}
	for i, r := range readings {
		obs[i] = observation{class: r.class, day: r.day, y: r.low, exact: 1, weight: 1}
		if r.high > r.low {
			b.inexact = true
			if r.missed {
				obs[i].y += usualMiss
			} else if !math.IsInf(r.high, 1) {
				obs[i].y = (r.low + r.high) / 2
			}
		}
	}
	return b
}

// freedom is how many degrees of freedom are left of so many when values that
// are not exact tell less of the spread.
func (b *blurs) freedom(all float64) float64 {
	return math.Max(1, all-(float64(len(b.readings))-b.weights2))
}

// smooth is a fit with which pulls are compared: the mean of the i-th, its day
// included, with its variance over that of single pulls.
type smooth interface {
	fitted(i int, o observation) (mean, variance float64)
}

// scale corrects sigma2, the variance of single pulls: a value that adds a
// variance of its own tells less of theirs.
func (b *blurs) scale(m smooth, sigma2 float64, obs []observation) float64 {
	if !b.inexact {
		return 1
	}
	var first, second, weights float64
	for i, o := range obs {
		mean, v := m.fitted(i, o)
		e2 := (o.y-mean)*(o.y-mean) + v*sigma2
		first += o.weight * e2
		second += o.exact * o.weight * e2
		weights += o.exact
	}
	return second / weights * float64(len(obs)) / first
}

// sharpen sets values and weights anew from the latest fit and tells whether
// any of the values moved.
func (b *blurs) sharpen(m smooth, sigma2 float64, relative []float64, obs []observation) (moved bool) {
	b.weights2, b.missed = 0, sum{}
	for i, r := range b.readings {
		o := &obs[i]
		own := math.Max(sigma2*relative[o.class], leastSpread*leastSpread)
		if r.high > r.low {
			mean, v := m.fitted(i, *o)
			y, extra := b.replace(r, *o, own, mean, v, sigma2)
			w := own / (own + extra)
			moved = moved || math.Abs(y-o.y) > 1e-4*math.Sqrt(own+extra) || math.Abs(w-o.exact) > 1e-3*w
			o.y, o.exact = y, w
		}
		o.weight = o.exact / relative[o.class]
		b.weights2 += o.exact * o.exact
	}
	return b.learn() || moved
}

// usualMiss is what is thought to fall between readings before pulls tell, as
// strongly as so many pulls would: an assumption of ours, no source. A half-sine
// that is read three or four times loses as much at the worst.
const (
	usualMiss = 0.1
	asStrong  = 2
)

// learn takes the mean of what fell between readings from the latest round and
// tells whether it moved. What fell is taken to be exponentially distributed:
// a reading may be anywhere near the top, and is rarely far from it.
func (b *blurs) learn() (moved bool) {
	before := b.miss
	b.miss = (b.missed.y + asStrong*usualMiss) / (b.missed.weight + asStrong)
	return math.Abs(b.miss-before) > 0.01*before
}

// replace gives the value, and the variance that it adds, which stand for the
// interval of a pull of a class of its own variance. mean and v are what is
// fitted, with v in units of sigma2.
func (b *blurs) replace(r reading, o observation, own, mean, v, sigma2 float64) (y, extra float64) {
	if w := r.high - r.low; w < width*math.Sqrt(own) {
		return (r.low + r.high) / 2, w * w / 12
	}
	others := 1/v - o.weight // precision without this one
	if others < 1e-6 {
		return o.y, own/o.exact - own
	}
	mean = (mean/v - o.weight*o.y) / others
	spread := own + sigma2/others
	likely := mean
	if r.missed {
		likely -= spread / b.miss
	}
	cut, variance := truncated(likely, spread, r.low, r.high)
	if r.missed {
		b.missed.weight++
		b.missed.y += cut - r.low
	}
	extra = 1 / math.Max(1/variance-1/spread, 1e-6/spread)
	return extra * (cut/variance - mean/spread), extra
}

// truncated gives mean and variance of a normal variable that is known to lie
// between low and high.
func truncated(mean, variance, low, high float64) (m, v float64) {
	const far = 8 // standard deviations, beyond which nothing is cut off
	sd := math.Sqrt(variance)
	a, b := (low-mean)/sd, (high-mean)/sd
	switch {
	case -b > a: // the nearer end first
		m, v = truncated(-mean, variance, -high, -low)
		return -m, v
	case a < -far:
		return mean, variance
	}
	pb, bpb := 0.0, 0.0 // density at b over that at a
	beyond := 0.0
	if !math.IsInf(b, 1) {
		pb = math.Exp((a - b) * (a + b) / 2)
		bpb, beyond = b*pb, pb*mills(b)
	}
	inside := mills(a) - beyond
	if !(inside > 1e-9) { // as narrow as a point
		return (low + math.Min(high, low+sd)) / 2, variance * 1e-12
	}
	d := (1 - pb) / inside
	return mean + sd*d, variance * math.Max(1+(a-bpb)/inside-d*d, 1e-12)
}

// mills is the probability above x over the density at x.
func mills(x float64) float64 {
	if x < 8 {
		return math.Sqrt(math.Pi/2) * math.Exp(x*x/2) * math.Erfc(x/math.Sqrt2)
	}
	x2 := x * x // the asymptotic series
	return (1 - 1/x2*(1-3/x2*(1-5/x2*(1-7/x2)))) / x
}
