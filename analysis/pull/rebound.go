package pull

import "math"

// rebounds is how the load came back after the main peak.
type rebounds struct {
	n       int
	hz      float64 // 0 unknown
	damping float64 // 0 unknown
}

const (
	reboundShare = 0.04 // of the peak: least height of a rebound over the dips beside it
	reboundMost  = 12
)

// swing is one maximum and the dip before it.
type swing struct{ t, high, dip float64 }

// findRebounds finds the maxima that follow the top of the course, of a peak
// over base that stays above half for pulse seconds.
func (c course) findRebounds(top int, base, peak, pulse, noise float64) rebounds {
	tail := course{c.t[top:], c.f[top:]}
	b := tail.average(max(pulse/25, medianStep(tail)))
	gate := max(reboundShare*(peak-base), 5*noise/math.Sqrt(max(1, b.each)))
	all := b.swings(gate)
	if len(all) == 0 {
		return rebounds{}
	}
	// The top itself is the first maximum.
	all[0].t, all[0].high = 0, peak
	if len(all) == 1 {
		return rebounds{}
	}
	r := rebounds{n: len(all) - 1}
	all = all[:min(len(all), reboundMost)]
	x := make([]float64, len(all))
	for i, s := range all {
		x[i] = s.t
	}
	if period := slopeOf(x); period > 0 {
		r.hz = 1 / period
	}
	r.damping = damping(all, base, peak)
	return r
}

// swings lists the maxima that stand out by gate from the dips on both sides;
// the first bin counts as the end of a rise.
func (b bins) swings(gate float64) []swing {
	var all []swing
	if len(b.f) == 0 {
		return nil
	}
	high, low := 0, 0
	up, dip := true, b.f[0]
	for i, v := range b.f {
		if up {
			if v > b.f[high] {
				high = i
			} else if b.f[high]-v > gate {
				t, f := b.vertex(high)
				all = append(all, swing{t, f, dip})
				up, low = false, i
			}
			continue
		}
		if v < b.f[low] {
			low = i
		} else if v-b.f[low] > gate {
			up, high, dip = true, i, b.f[low]
		}
	}
	return all
}

// vertex is the top of the parabola through bin i and its neighbours.
func (b bins) vertex(i int) (t, f float64) {
	t = (float64(i) + 0.5) * b.width
	if i < 1 || i+1 >= len(b.f) {
		return t, b.f[i]
	}
	l, m, r := b.f[i-1], b.f[i], b.f[i+1]
	curve := l - 2*m + r
	if curve >= 0 {
		return t, m
	}
	d := (l - r) / 2 / curve
	return t + d*b.width, m - curve*d*d/2
}

// slopeOf is the slope of the least-squares line through values at 0, 1, 2…,
// not a number where there are less than two.
func slopeOf(y []float64) float64 {
	n := float64(len(y))
	var sx, sy, sxx, sxy float64
	for i, v := range y {
		x := float64(i)
		sx += x
		sy += v
		sxx += x * x
		sxy += x * v
	}
	return (n*sxy - sx*sy) / (n*sxx - sx*sx)
}

// damping is the damping ratio from the logarithmic decrement δ of one period,
// ζ = δ/√(4π²+δ²) (Inman, Engineering Vibration, section 1.6, from memory); 0 where it
// cannot be told or the swings do not decay.
func damping(all []swing, base, peak float64) float64 {
	slack := base + 0.08*(peak-base)
	var delta float64
	if all[1].dip > slack {
		delta = -2 * slopeOf(logs(ranges(all)))
	} else {
		delta = -slopeOf(logs(heights(all, base, slack)))
	}
	if !(delta > 0) {
		return 0
	}
	return delta / math.Sqrt(4*math.Pi*math.Pi+delta*delta)
}

// ranges are the falls and climbs from the first maximum on, one every half
// period: what decays of a line that stays taut, whatever load it swings about.
func ranges(all []swing) (r []float64) {
	for i, s := range all[1:] {
		r = append(r, all[i].high-s.dip, s.high-s.dip)
	}
	return r
}

// heights are the maxima over base, one every period, as long as the line goes
// slack between them.
func heights(all []swing, base, slack float64) (h []float64) {
	for i, s := range all {
		if i > 0 && s.dip > slack {
			break
		}
		h = append(h, s.high-base)
	}
	return h
}

// logs are the logarithms of the values up to the first that has none.
func logs(values []float64) (y []float64) {
	for _, v := range values {
		if !(v > 0) {
			break
		}
		y = append(y, math.Log(v))
	}
	return y
}

// medianStep is the usual time between two points in seconds.
func medianStep(c course) float64 {
	if len(c.t) < 2 {
		return 0
	}
	return c.whole() / float64(len(c.t)-1)
}
