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

// slopeOf is the slope of the least-squares line through values at 0, 1, 2…
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

// damping is the damping ratio from the logarithmic decrement,
// ζ = δ/√(4π²+δ²) (Inman, Engineering Vibration, section 1.6); 0 where the
// swings do not decay. Where the line goes slack between them, what decays is
// their height; where it does not, their height over the dip before.
func damping(all []swing, base, peak float64) float64 {
	y := make([]float64, 0, len(all))
	slack := base + 0.08*(peak-base)
	for i, s := range all {
		height := s.high - base
		if i == 0 && len(all) > 1 && all[1].dip > slack {
			height = s.high - all[1].dip
		} else if s.dip > slack {
			height = s.high - s.dip
		}
		if !(height > 0) {
			break
		}
		y = append(y, math.Log(height))
	}
	if len(y) < 2 {
		return 0
	}
	delta := -slopeOf(y)
	if !(delta > 0) {
		return 0
	}
	return delta / math.Sqrt(4*math.Pi*math.Pi+delta*delta)
}

// medianStep is the usual time between two points in seconds.
func medianStep(c course) float64 {
	if len(c.t) < 2 {
		return 0
	}
	return c.whole() / float64(len(c.t)-1)
}
