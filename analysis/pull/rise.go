package pull

import "math"

// rise is the way up to the peak.
type rise struct {
	from, to  float64 // seconds from the first point of the course
	time      float64
	rate      float64
	steep     float64    // the step between the two points around 10 %, as a share of the way to the peak
	smoothed  int        // readings that a point is the mean of
	crossings [2]float64 // N/s, how fast the force rises through 10 % and 90 %
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
		steep := r.steep
		r, _, _ = c.runningMean(n, top).riseOnce(top, base, peak)
		r.steep, r.smoothed = steep, n
	}
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
	j = max(i, 1)
	for j < top && c.f[j] < high {
		j++
	}
	r = rise{from: c.crossing(i, low), to: c.crossing(j, high), smoothed: 1}
	r.steep = (c.f[i] - c.first(i)) / (peak - base)
	if r.time = r.to - r.from; r.time > 0 {
		r.rate = (min(c.f[j], high) - max(c.first(i), low)) / r.time
	}
	around := max(1, (j-i)/riseWindows)
	r.crossings = [2]float64{c.slope(i, around), c.slope(j, around)}
	return r, i, j
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

// off is how far the time of a crossing may be off where the force may be by
// u: no further than the whole rise.
func (r rise) off(crossing int, u float64) float64 {
	if s := r.crossings[crossing]; s > 0 {
		return math.Min(u/s, r.time)
	}
	return r.time
}
