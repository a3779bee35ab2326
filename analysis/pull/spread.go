package pull

import "math"

// The half widths of the 95 % intervals of the rise time, the rise rate and the
// impulse. They are put together like that of the peak (JCGM 100:2008, 5.1.2).

// spread works them out once everything else is measured.
func (m *measured) spread() {
	m.followZero()
	m.RiseTime95, m.Impulse95 = m.riseSpread(), m.impulseSpread()
	if m.RiseTime > 0 {
		relative := math.Max(float64(m.Peak-m.PeakLow), float64(m.PeakHigh-m.Peak)) / float64(m.Peak)
		m.RiseRate95 = m.RiseRate * math.Hypot(m.RiseTime95/m.RiseTime, relative)
	}
}

// riseSpread is how far the time from 10 to 90 % may be off: by where noise
// puts the two crossings, by where the true top puts 90 % of it, and by the
// straight lines between readings.
func (m *measured) riseSpread() float64 {
	if !(m.RiseRate > 0) {
		return 0
	}
	noise := cover95 * float64(m.Noise) / math.Sqrt(float64(max(1, m.rise.smoothed)))
	var top float64
	for _, t := range m.Terms {
		if t.Name == termSampling || t.Name == termNoise || t.Name == termZero {
			top = math.Hypot(top, math.Max(float64(t.High), float64(t.Low)))
		}
	}
	line := m.step * (riseStep + riseJump*math.Min(1, m.rise.steep/0.1))
	return root(m.rise.off(0, noise), m.rise.off(1, noise), m.rise.off(1, 0.9*top), line)
}

// The shares of the time between two readings by which a straight line between
// them may miss a crossing: of a smooth rise, and the more of one that jumps
// over 10 % at once, which may do so anywhere between the two. From the
// simulated pulls of the tests.
const (
	riseStep = 0.15
	riseJump = 0.45
)

// followZero takes off the impulses what the zero has moved, on the straight
// line in time that zeroPart takes it along too.
func (m *measured) followZero() {
	if m.zeroUp == 0 {
		return
	}
	half := (m.Start + m.End) / 2
	m.Impulse -= m.zeroUp * m.timePassed(half) * float64(m.End-m.Start) / 1e9
	half = (m.Start + m.PeakAt) / 2
	m.ToPeak -= m.zeroUp * m.timePassed(half) * float64(m.PeakAt-m.Start) / 1e9
}

// impulseSpread is how far the impulse may be off: by the calibration, by the
// zero over the whole length, by noise, by the trapezoids that take the place of
// the curve, at most dt²/12 times the change of its slope (Davis and Rabinowitz,
// Methods of Numerical Integration, section 2.1), and by where it begins and ends.
func (m *measured) impulseSpread() float64 {
	seconds := float64(m.End-m.Start) / 1e9
	var relative, zero float64
	for _, t := range m.Terms {
		switch t.Name {
		case termCalibration:
			relative = float64(t.High) / math.Max(1, math.Abs(float64(m.Peak)))
		case termZero:
			zero = float64(t.High - t.Shift)
			if t.Shift < 0 {
				zero = float64(t.Low + t.Shift)
			}
		}
	}
	noise := cover95 * float64(m.Noise) * math.Sqrt(float64(max(1, m.Samples))) * m.step
	curve := 2 * m.MaxRise * m.step * m.step / 12
	ends := math.Hypot(float64(m.Peak)*m.step*endShare, startShare*m.scale*endSeconds)
	return root(relative*m.Impulse, zero*seconds, noise, curve, ends)
}

// Where a pull begins and ends is known to a share of a reading's time, as the
// force may begin with a jump anywhere between two of them, and to as long as the
// force stays near the threshold. From the simulated pulls of the tests.
const (
	endShare   = 0.1
	endSeconds = 0.015
)

// root is the root of the sum of squares.
func root(x ...float64) float64 {
	var sum float64
	for _, v := range x {
		sum += v * v
	}
	return math.Sqrt(sum)
}
