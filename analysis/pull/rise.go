package pull

// rise is the way up to the peak.
type rise struct {
	from, to float64 // seconds from the first point of the course
	time     float64
	rate     float64
	steep    float64 // the step between the two points around 10 %, as a share of the way to the peak
}

// measureRise finds where the course last came up through 10 % of the way
// from base to peak before it got there at point top, and where it first
// reached 90 % after that, straight lines taken between points.
func (c course) measureRise(top int, base, peak float64) rise {
	if top <= 0 || top >= len(c.f) || peak <= base {
		return rise{}
	}
	low, high := base+0.1*(peak-base), base+0.9*(peak-base)
	i := top
	for i > 0 && c.f[i-1] > low {
		i--
	}
	j := max(i, 1)
	for j < top && c.f[j] < high {
		j++
	}
	r := rise{from: c.crossing(i, low), to: c.crossing(j, high)}
	r.steep = (c.f[i] - c.first(i)) / (peak - base)
	if r.time = r.to - r.from; r.time > 0 {
		r.rate = (min(c.f[j], high) - max(c.first(i), low)) / r.time
	}
	return r
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
