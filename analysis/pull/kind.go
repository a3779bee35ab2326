package pull

import (
	"math"
	"sort"

	"tautlog/analysis/trace"
)

// shape is what the kind of a pull is judged by.
type shape struct {
	peak    float64 // height over the level that the pull began at
	base    float64
	noise   float64
	half    float64 // seconds above half of the height
	rise    rise
	bins    bins
	hold    hold
	wholeOf float64 // seconds, start to end
}

// bins is the course averaged over even stretches of time.
type bins struct {
	width float64 // seconds
	f     []float64
	each  float64 // readings in one, on average
}

const (
	binSeconds     = 0.1
	binsMost       = 3000
	kineticHalf    = 2.5 // seconds above half of its peak that a kinetic pull stays under
	kineticPulse   = 1.8 // and the same for its main pulse alone
	kineticRise    = 1.2 // seconds from 10 % to 90 %
	holdLeast      = 1.5 // seconds
	holdShare      = 0.25
	holdRough      = 0.005 // of the peak: deviation from a falling course that a hold may have
	holdDecayLeast = 0.004
	holdDecayMost  = 0.2
	rampBack       = 0.025 // of the peak: how far a proof ramp may fall back on its way up
)

// kindOf judges the kind of a pull. The limits are common practice, no
// source: straps and kinetic ropes with vehicles of 1 to 10 t have half
// periods of 0.2 to 2 s; winches and tows load for several seconds; a proof
// load is held still and only relaxes.
func (s shape) kindOf(pulse float64) Kind {
	switch {
	case s.half < kineticHalf && pulse < kineticPulse && s.rise.time < kineticRise:
		return Kinetic
	case s.hold.proof(s):
		return Proof
	}
	return Steady
}

// pulse is the time in seconds that the course stays above half of its
// height around its top without a break.
func (c course) pulse(top int, level float64) float64 {
	i, j := top, top
	for i > 0 && c.f[i-1] > level {
		i--
	}
	for j+1 < len(c.f) && c.f[j+1] > level {
		j++
	}
	return c.seconds(i, j)
}

// average gives the course in bins.
func (c course) average(width float64) bins {
	if len(c.t) == 0 {
		return bins{width: width}
	}
	whole := c.seconds(0, len(c.t)-1)
	width = max(width, whole/binsMost, 1e-6)
	n := int(whole/width) + 1
	sum, count := make([]float64, n), make([]float64, n)
	for i, t := range c.t {
		k := min(int(float64(t-c.t[0])/1e9/width), n-1)
		sum[k] += c.f[i]
		count[k]++
	}
	for k := range sum {
		if count[k] > 0 {
			sum[k] /= count[k]
		} else if k > 0 {
			sum[k] = sum[k-1]
		}
	}
	return bins{width: width, f: sum, each: float64(len(c.t)) / float64(n)}
}

// hold is the stretch of a pull that stays near its top.
type hold struct {
	from, to int // bins
	decay    float64
	rough    float64 // deviation from a falling course
	back     float64 // largest fall on the way up to it
	level    float64
}

// findHold takes the bins from the first that comes within 1.5 % of the top one to
// the last that is above 80 % of it, less the edges.
func (b bins) findHold(base float64) hold {
	var h hold
	top := base
	for _, v := range b.f {
		top = max(top, v)
	}
	height := top - base
	first, last := -1, -1
	for i, v := range b.f {
		if first < 0 && v-base >= 0.985*height {
			first = i
		}
		if v-base >= 0.8*height {
			last = i
		}
	}
	if first < 0 || !(height > 0) {
		return h
	}
	for last > first && b.f[last] < b.f[last-1]-0.02*height {
		last--
	}
	h.from, h.to = first, last+1
	h.back = b.fallBack(first) / height
	h.measure(b.f[first:last+1], base, height)
	return h
}

// fallBack is the largest fall below an earlier bin before bin n.
func (b bins) fallBack(n int) float64 {
	var back float64
	high := math.Inf(-1)
	for _, v := range b.f[:n] {
		high = max(high, v)
		back = max(back, high-v)
	}
	return back
}

func (h *hold) measure(f []float64, base, height float64) {
	edge := max(1, len(f)/12)
	begin := trace.Median(append([]float64(nil), f[:edge]...)) - base
	end := trace.Median(append([]float64(nil), f[len(f)-edge:]...)) - base
	h.level = trace.Median(append([]float64(nil), f...))
	if begin > 0 {
		h.decay = 1 - end/begin
	}
	var sum float64
	for i, v := range falling(f) {
		d := (f[i] - v) / height
		sum += d * d
	}
	h.rough = math.Sqrt(sum / float64(len(f)))
}

// falling is the course that only falls and comes nearest to f in least
// squares (pool adjacent violators: Barlow, Bartholomew, Bremner and Brunk,
// Statistical Inference under Order Restrictions, 1972, from memory).
func falling(f []float64) []float64 {
	type pool struct {
		sum float64
		n   int
	}
	var pools []pool
	for _, v := range f {
		p := pool{v, 1}
		for len(pools) > 0 {
			q := pools[len(pools)-1]
			if q.sum/float64(q.n) >= p.sum/float64(p.n) {
				break
			}
			p = pool{p.sum + q.sum, p.n + q.n}
			pools = pools[:len(pools)-1]
		}
		pools = append(pools, p)
	}
	out := make([]float64, 0, len(f))
	for _, p := range pools {
		for range p.n {
			out = append(out, p.sum/float64(p.n))
		}
	}
	return out
}

// seconds is how long the load was held, to the width of a bin.
func (h hold) seconds(width float64) float64 { return float64(h.to-h.from) * width }

// proof says that the hold is that of a proof pull.
func (h hold) proof(s shape) bool {
	seconds := h.seconds(s.bins.width)
	if seconds < holdLeast || seconds < holdShare*s.wholeOf {
		return false
	}
	noise := 0.0
	if s.bins.each > 0 && s.peak > 0 {
		noise = s.noise / math.Sqrt(s.bins.each) / s.peak
	}
	return h.rough <= holdRough+1.2*noise && h.back <= rampBack+6*noise &&
		h.decay >= holdDecayLeast && h.decay <= holdDecayMost
}

// works measures a load that works: the level it kept and the amplitude of
// its swings, half of what lies between its 2.5 and 97.5 % quantiles.
func (c course) works(base, peak float64) (level, amplitude float64) {
	half := base + 0.5*(peak-base)
	i, j := 0, len(c.f)-1
	for i < j && c.f[i] < half {
		i++
	}
	for j > i && c.f[j] < half {
		j--
	}
	x := append([]float64(nil), c.f[i:j+1]...)
	if n := len(x) / 20; n > 0 {
		x = x[n : len(x)-n]
	}
	sort.Float64s(x)
	if len(x) == 0 {
		return 0, 0
	}
	at := func(q float64) float64 { return x[int(q*float64(len(x)-1))] }
	return at(0.5), (at(0.975) - at(0.025)) / 2
}

// level says that the course stays flat all along, as a standing tension
// does: no pull.
func (o *outline) level() bool {
	c := o.until(math.MaxInt64, 0)
	b := c.average(max(binSeconds, c.whole()/20)).f
	if len(b) < 2 {
		return true
	}
	if len(b) > 4 {
		b = b[:len(b)-1]
	}
	m := trace.Median(append([]float64(nil), b...))
	noise := neighbourNoise(c.f) / math.Sqrt(float64(len(c.f))/float64(len(b)))
	for _, v := range b {
		if math.Abs(v-m) > 0.01*math.Abs(m)+5*noise {
			return false
		}
	}
	return true
}

// whole is the time in seconds that the course covers.
func (c course) whole() float64 {
	if len(c.t) == 0 {
		return 0
	}
	return c.seconds(0, len(c.t)-1)
}

// easedTo is where a line that eases off from since on reaches the light
// load that it then keeps.
func (o *outline) easedTo(since int64, zero float64) int64 {
	c := o.until(math.MaxInt64, zero)
	i := c.from(since)
	if i >= len(c.t) {
		return since
	}
	kept := trace.Median(append([]float64(nil), c.f[i:]...))
	for j := i; j < len(c.t); j++ {
		if c.f[j] <= kept {
			return c.t[j]
		}
	}
	return since
}
