package pull

import "math"

// The half widths of the 95 % intervals of the rise time and the impulse.
// Both are put together like that of the peak (JCGM 100:2008, 5.1.2).

// spread works them out once everything else is measured.
func (m *measured) spread() {
	m.RiseTime95, m.Impulse95 = m.riseSpread(), m.impulseSpread()
}

// riseSpread is how far the time from 10 to 90 % may be off: by where noise
// puts the two crossings, by where the true top puts 90 % of it, and by the
// straight lines between readings. Near 90 % a pulse rises about half as fast
// as it does on average.
func (m *measured) riseSpread() float64 {
	if !(m.RiseRate > 0) {
		return 0
	}
	crossing := cover95 * float64(m.Noise) * math.Hypot(1, 2) / m.RiseRate
	var top float64
	for _, t := range m.Terms {
		if t.Name == termSampling || t.Name == termNoise {
			top = math.Hypot(top, float64(t.High))
		}
	}
	line := m.step * (riseStep + riseJump*math.Min(1, m.steep/0.1))
	return root(crossing, 0.9*top*2/m.RiseRate, line)
}

// The shares of the time between two readings by which a straight line between
// them may miss a crossing: of a smooth rise, and the more of one that jumps
// over 10 % at once. From the simulated pulls of the tests.
const (
	riseStep = 0.15
	riseJump = 0.75
)

// impulseSpread is how far the impulse may be off: by the calibration, by the
// zero over the whole length, by noise, and by the trapezoids that take the
// place of the curve, at most dt²/12 times the change of its slope (Davis and
// Rabinowitz, Methods of Numerical Integration, section 2.1).
func (m *measured) impulseSpread() float64 {
	seconds := float64(m.End-m.Start) / 1e9
	var relative, zero float64
	for _, t := range m.Terms {
		switch t.Name {
		case termCalibration:
			relative = float64(t.High) / math.Max(1, math.Abs(float64(m.Peak)))
		case termZero:
			zero = math.Max(float64(t.High), float64(t.Low))
		}
	}
	noise := cover95 * float64(m.Noise) * math.Sqrt(float64(max(1, m.Samples))) * m.step
	curve := 2 * m.MaxRise * m.step * m.step / 12
	ends := math.Hypot(float64(m.Peak)*m.step*endShare, startShare*m.scale*endSeconds)
	return root(relative*m.Impulse, zero*seconds, noise, curve, ends)
}

// Where a pull begins and ends is known to a share of a reading's time, and to
// as long as the force stays near the threshold.
const (
	endShare   = 0.02
	endSeconds = 0.05
)

// root is the root of the sum of squares.
func root(x ...float64) float64 {
	var sum float64
	for _, v := range x {
		sum += v * v
	}
	return math.Sqrt(sum)
}
