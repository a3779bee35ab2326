package trace

import "math"

// Pace learns the usual interval between readings from their times, and from
// it what is a gap: an interval well beyond the usual one.
//
// The limit is 1.75 times the interval that 98 % of the recent ones do not
// exceed. On an even clock one missing reading is therefore a gap; on a line
// that delivers in bursts the pause between two bursts is not. Common
// practice, no source. What is learnt long ago fades, so that a change of
// rate is followed.
type Pace struct {
	bins  [paceBins]paceBin
	total int
	limit int64
	step  float64
	due   int // readings until the limit is worked out again
	last  int64
	run   int // intervals equal to last that are not yet in the bins
}

type paceBin struct {
	n   float64
	sum float64
}

const (
	paceBins  = 64 * 8 // eight per octave of nanoseconds
	paceFade  = 8192   // intervals after which old ones count half
	paceStart = 16     // intervals that make a first limit
	gapFactor = 1.75
)

// NewPace makes a Pace for a line of nominalRate readings a second, or one
// that learns from the times alone where nominalRate is 0.
func NewPace(nominalRate float64) *Pace {
	p := &Pace{limit: math.MaxInt64, due: paceStart}
	if nominalRate > 0 {
		p.step = 1e9 / nominalRate
		p.limit = int64(math.Min(4*gapFactor*p.step, 1e18))
	}
	return p
}

// Add learns from one interval in nanoseconds.
func (p *Pace) Add(d int64) { p.run1(d); p.spend(1) }

// Times learns from the times t, which follow prev, and calls gap with the
// index of each that stands behind a gap.
func (p *Pace) Times(prev int64, t []int64, gap func(int)) {
	for at := 0; at < len(t); {
		end := min(len(t), at+p.Due())
		limit, n := p.limit, end-at
		for at < end {
			if p.last <= limit { // on an even clock all that there is to do
				k := even(t[at:end], prev, p.last)
				p.run += k
				if at += k; k > 0 {
					prev = t[at-1]
				}
				if at == end {
					break
				}
			}
			d := t[at] - prev
			prev = t[at]
			p.run1(d)
			if d > limit {
				gap(at)
			}
			at++
		}
		p.spend(n)
	}
}

// even counts the times from the first on that lie d apart, beginning with
// prev.
func even(t []int64, prev, d int64) int {
	i := 0
	for ; i+8 <= len(t); i += 8 { // a branch for eight of them
		b := t[i : i+8 : i+8]
		odd := ((b[0] - prev) ^ d) | ((b[1] - b[0]) ^ d) | ((b[2] - b[1]) ^ d) | ((b[3] - b[2]) ^ d) |
			((b[4] - b[3]) ^ d) | ((b[5] - b[4]) ^ d) | ((b[6] - b[5]) ^ d) | ((b[7] - b[6]) ^ d)
		if odd != 0 {
			break
		}
		prev = b[7]
	}
	for ; i < len(t) && t[i]-prev == d; i++ {
		prev = t[i]
	}
	return i
}

// Due is the number of intervals, at least one, until the limit and the step
// are worked out again.
func (p *Pace) Due() int { return max(1, p.due) }

// run1 takes one interval into the running count of equal ones.
func (p *Pace) run1(d int64) {
	if d != p.last {
		p.settle()
		p.last = d
	}
	p.run++
}

// spend counts n intervals down to the next time that the limit is due. It
// falls due at fixed counts, so that the limit does not depend on how the
// times were split.
func (p *Pace) spend(n int) {
	if p.due -= n; p.due <= 0 {
		p.Learn()
	}
}

// settle puts the running intervals into their bin.
func (p *Pace) settle() {
	if p.run == 0 {
		return
	}
	b := &p.bins[paceIndex(p.last)]
	b.n += float64(p.run)
	b.sum += float64(p.run) * float64(p.last)
	p.total += p.run
	p.run = 0
}

// fade makes old intervals count less.
func (p *Pace) fade() {
	scale := paceFade / float64(p.total)
	for i := range p.bins {
		p.bins[i].n *= scale
		p.bins[i].sum *= scale
	}
	p.total = paceFade
}

// paceIndex is the bin of an interval: its binary exponent and the first
// three bits behind the leading one.
func paceIndex(d int64) int {
	if d < 1 {
		return 0
	}
	return int(math.Float64bits(float64(d))>>49)&0x7fff - 1023<<3
}

// Learn works the limit out from what was added so far. Add does it by itself
// from time to time.
func (p *Pace) Learn() {
	p.settle()
	switch {
	case p.total < 512:
		p.due = 64
	case p.total < paceFade:
		p.due = 512
	default:
		p.due = 2048
	}
	if p.total == 0 {
		return
	}
	if p.total > 2*paceFade {
		p.fade()
	}
	share := 0.98
	if p.total < 100 {
		share = 0.9
	}
	rank, seen := share*float64(p.total), 0.0
	for i := range p.bins {
		if b := p.bins[i]; b.n > 0 {
			if seen += b.n; seen >= rank-1e-6 {
				p.limit = int64(math.Min(gapFactor*b.sum/b.n, 1e18))
				break
			}
		}
	}
	p.meanStep()
}

// meanStep averages the intervals that are no gap.
func (p *Pace) meanStep() {
	var n, sum float64
	for i := range p.bins {
		if b := p.bins[i]; b.n > 0 && b.sum/b.n <= float64(p.limit) {
			n += b.n
			sum += b.sum
		}
	}
	if n > 0 {
		p.step = sum / n
	}
}

// Limit is the longest interval in nanoseconds that is no gap.
func (p *Pace) Limit() int64 { return p.limit }

// Step is the usual interval in nanoseconds: the mean of those that are no
// gap; 0 while nothing is known.
func (p *Pace) Step() float64 { return p.step }

// Rate is the usual number of readings a second; 0 while nothing is known.
func (p *Pace) Rate() float64 {
	if p.step <= 0 {
		return 0
	}
	return 1e9 / p.step
}
