package pull

import "math"

// rise is the way up to the peak.
type rise struct {
	from, to  float64 // seconds from the first point of the course
	time      float64
	height    float64    // N, risen in that time
	smoothed  int        // readings that a point is the mean of
	crossings [2]float64 // N/s, how fast the force rises through 10 % and 90 %
	unseen    [2]float64 // s, by how much a crossing may be elsewhere between its two readings
	on        course     // that it was measured on, and of it:
	first     int        // the point behind the crossing of 10 %
	top       int        // the point with the largest reading
	high      float64    // the level at 90 %
}

// riseWindows is how many windows the way from 10 to 90 % has at least. A mean
// over a twentieth of a half-sine's rise shifts a crossing by less than 0.1 % of
// the rise.
const riseWindows = 20

// measureRise finds where the course last came up through 10 % of the way
// from base to peak before it got there at point top, and where it first
// reached 90 % after that, straight lines taken between points.
//
// Where the force rises by less than its noise from one reading to the next,
// noise would cross 90 % too early and 10 % too late. It is done again on means
// of so many readings that their noise is less than the rise from one window to
// the next; no more of them than that, as a mean blurs a rise that begins with a jump.
func (c course) measureRise(top int, base, peak, noise float64) rise {
	if top <= 0 || top >= len(c.f) || peak <= base {
		return rise{}
	}
	r, i, j := c.riseOnce(top, base, peak)
	unclear := noise * float64(j-i) / (0.8 * (peak - base)) // readings that the rise takes to leave its noise
	if n := min(int(3*math.Pow(unclear, 2./3)), (j-i)/riseWindows); unclear > 1 && n >= 2 {
		r, _, _ = c.runningMean(n, top).riseOnce(top, base, peak)
		r.smoothed = 2*(n/2) + 1
		return r
	}
	c.refine(&r, i, j, base, peak, noise)
	return r
}

// riseOnce measures the rise on the points as they are; i and j are those
// behind the two crossings.
func (c course) riseOnce(top int, base, peak float64) (r rise, i, j int) {
	low, high := base+0.1*(peak-base), base+0.9*(peak-base)
	i = top
	for i > 0 && c.f[i-1] > low {
		i--
	}
	j = c.reached(i, top, high)
	r = rise{from: c.crossing(i, low), to: c.crossing(j, high), smoothed: 1, on: c, first: i, top: top, high: high}
	r.time = r.to - r.from
	r.height = min(c.f[j], high) - max(c.first(i), low)
	around := max(1, (j-i)/riseWindows)
	r.crossings = [2]float64{c.slope(i, around), c.slope(j, around)}
	return r, i, j
}

// reached is the point at which the course first reaches a level, from point
// i on; top where it does not before.
func (c course) reached(i, top int, level float64) int {
	j := max(i, 1)
	for j < top && c.f[j] < level {
		j++
	}
	return j
}

// refine puts the two crossings where the readings beside them say, not where
// a straight line does: a force that sets in between two readings is not yet
// there for a part of that time, and one that bends towards its top is ahead of
// the line.
//
// Where the reading before is at rest, the curve behind it is carried back.
// The line may have come taut, with a jump, where that curve is above 10 %. A
// line with a damping ratio ζ jumps to about 2ζ of its peak, the force of its
// damper at the speed that it comes taut at.
func (c course) refine(r *rise, i, j int, base, peak, noise float64) {
	low, high := base+0.1*(peak-base), base+0.9*(peak-base)
	if i > 0 && i+1 < len(c.t) {
		step := c.seconds(i-1, i)
		if c.f[i-1]-base < math.Max(4*noise, restShare*(peak-base)) {
			behind := c.arc(i, base)
			curve := func(x float64) float64 { return behind(x - 1) }
			first := crossed(curve, low, 1)
			last := crossed(curve, base+jumpMost*(peak-base), 1)
			if last == 0 {
				last = 1 // it jumped further, at whatever moment
			}
			r.from = c.seconds(0, i-1) + step*(first+setsIn*(last-first))
			r.unseen[0] = step * (setsInAbout*(last-first) + onWay)
		} else {
			r.unseen[0] = onWay * step
		}
	}
	if j > 0 && j+1 < len(c.t) {
		step := c.seconds(j-1, j)
		line := (r.to - c.seconds(0, j-1)) / step
		at := crossed(c.arc(j-1, base), high, line)
		r.to = c.seconds(0, j-1) + step*at
		r.unseen[1] = step * (bentAbout*math.Abs(at-line) + onWay)
	}
	r.time = r.to - r.from
}

// From the simulated pulls of the tests.
const (
	restShare   = 0.02 // of the way to the peak: a reading no higher is one at rest
	jumpMost    = 0.25 // of the way to the peak that a line jumps to: a damping ratio of an eighth
	setsIn      = 0.4  // of the time in which a force may have set in: where it is taken to have
	setsInAbout = 0.55 // and how far from there it may have been
	onWay       = 0.04 // of the time between two readings on a smooth rise
	bentAbout   = 0.5  // of what the bend of the curve moves a crossing by
)

// arc is the sine over base through point i, at 0, and the two behind it, at 1
// and 2; a straight line through the first two where they do not bend as one.
func (c course) arc(i int, base float64) func(x float64) float64 {
	y0, y1, y2 := c.f[i]-base, c.f[i+1]-base, 0.0
	if i+2 < len(c.f) {
		y2 = c.f[i+2] - base
	}
	cos := (y0 + y2) / 2 / y1
	if y2 < restShare*y1 || !(cos < arcStraight) || cos < arcShort {
		return func(x float64) float64 { return base + y0 + (y1-y0)*x }
	}
	w := math.Acos(cos)
	slope := (y1 - y0*cos) / math.Sin(w)
	return func(x float64) float64 { return base + y0*math.Cos(w*x) + slope*math.Sin(w*x) }
}

// The cosine of what a sine turns from one reading to the next: so near to 1
// it is straight, and so low it has too few readings to be known.
const (
	arcStraight = 0.99999
	arcShort    = -0.9
)

// crossed is where between 0 and end, at which it is above level, a rising
// curve comes through level; 0 where it is above it there too.
func crossed(at func(x float64) float64, level, end float64) float64 {
	lo, hi := 0.0, end
	for range 40 {
		if mid := (lo + hi) / 2; at(mid) > level {
			hi = mid
		} else {
			lo = mid
		}
	}
	return lo
}

// slope is how fast the course rises around the way to point i, over n points
// on either side of it.
func (c course) slope(i, n int) float64 {
	a, b := max(0, i-n), min(len(c.t)-1, i+n-1)
	if b <= a {
		a, b = max(0, i-1), min(len(c.t)-1, max(i, 1))
	}
	if c.t[b] <= c.t[a] {
		return 0
	}
	return (c.f[b] - c.f[a]) / c.seconds(a, b)
}

// runningMean gives the course up to point top and a window beyond, each point
// the mean of about n around it; near the ends of as many as there are alike on
// both sides.
func (c course) runningMean(n, top int) course {
	end := min(len(c.t), top+n+1)
	sum := make([]float64, end+1)
	for i, v := range c.f[:end] {
		sum[i+1] = sum[i] + v
	}
	out := course{t: c.t[:end], f: make([]float64, end)}
	for i := range out.f {
		half := min(n/2, i, end-1-i)
		out.f[i] = (sum[i+half+1] - sum[i-half]) / float64(2*half+1)
	}
	return out
}

// first is the force at point i, or below all where a point stands before it.
func (c course) first(i int) float64 {
	if i == 0 {
		return c.f[0]
	}
	return c.f[i-1]
}

// crossing is the time in seconds at which the straight line to point i
// passes level.
func (c course) crossing(i int, level float64) float64 {
	if i == 0 {
		return 0
	}
	a, b := c.f[i-1], c.f[i]
	at, d := c.seconds(0, i-1), c.seconds(i-1, i)
	if b <= a || level <= a {
		return at
	}
	return at + d*min(1, (level-a)/(b-a))
}

// quieter is the noise of a crossing over that of a reading. It is where a
// straight line between two of them is at the level: at a part x of the way the
// noise of the two leaves √((1-x)²+x²) of one, on average over the way √(2/3).
// Two means that follow each other have most of their readings in common, so that
// a line between them has the noise of one of them.
func (r rise) quieter() float64 {
	if r.smoothed <= 1 {
		return math.Sqrt(2. / 3)
	}
	return 1 / math.Sqrt(float64(r.smoothed))
}

// off is how far the time of a crossing may be off where the force may be by
// u: no further than the whole rise.
func (r rise) off(crossing int, u float64) float64 {
	if s := r.crossings[crossing]; s > 0 {
		return math.Min(u/s, r.time)
	}
	return r.time
}

// offHigh is how far the time at which the course first reached 90 % may be off
// where that level may be off by u: on a ramp as far as that is steep, and on a
// plateau or among swings, as far as the next one that is high enough. The way
// is longer to the later side; the interval is the same on both, and so takes
// the mean of the squares.
func (r rise) offHigh(u float64) float64 {
	at := func(level float64) float64 { return r.on.crossing(r.on.reached(r.first, r.top, level), level) }
	here := at(r.high)
	return max(r.off(1, u), meanSide(at(r.high+u)-here, here-at(r.high-u)))
}
