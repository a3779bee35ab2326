package pull

import (
	"math"

	"tautlog/calc/unit"
)

// The half widths of the 95 % intervals of the rise time, the rise rate and the
// impulse. They are put together like that of the peak (JCGM 100:2008, 5.1.2, the clause from memory).

// spread works them out once everything else is measured.
func (m *measured) spread() {
	m.RiseTime95, m.Impulse95 = m.riseSpread(), m.impulseSpread()
	if m.RiseTime > 0 {
		m.RiseRate95 = m.rateSpread()
	}
}

// riseSpread is how far the time from 10 to 90 % may be off: by where noise
// and an error of the zero put the two crossings, by where the true top puts
// 90 % of it, and by where between two readings each crossing was. An error of
// the zero is in the peak too, and 0.1 and 0.9 of that in the two levels.
func (m *measured) riseSpread() float64 {
	if !(m.RiseRate > 0) {
		return 0
	}
	noise := cover95 * float64(m.Noise) * m.rise.quieter()
	var top, zero float64
	for _, t := range m.Terms {
		low, high := t.about()
		switch t.Name {
		case termSampling, termNoise:
			top = math.Hypot(top, meanSide(low, high))
		case termZero:
			zero = math.Max(low, high)
		}
	}
	return root(m.rise.off(0, root(noise, 0.9*zero, 0.1*top)), m.rise.offHigh(root(noise, 0.1*zero, 0.9*top)), m.rise.unseen[0], m.rise.unseen[1])
}

// meanSide is the half width that an interval of unlike sides counts with where
// the result has one for both: the root of the mean of their squares, whose
// square is the mean of what each side brings.
func meanSide(low, high float64) float64 { return math.Hypot(low, high) / math.Sqrt2 }

// rateSpread is how far the mean rise rate may be off: by the height, and by
// the time, of which the shorter end says more than the longer one takes away.
// A rise of which the time is hardly known may be rateMost times as steep.
func (m *measured) rateSpread() float64 {
	height := math.Max(float64(m.Peak-m.PeakLow), float64(m.PeakHigh-m.Peak)) / float64(m.Peak)
	shortest := math.Max(m.RiseTime-m.RiseTime95, m.RiseTime/rateMost)
	return m.RiseRate * math.Hypot(m.RiseTime/shortest-1, height)
}

const rateMost = 4

// followZero compares the quiet level after the pull with the one before, and
// takes what it moved off the course and the impulses, on the straight line in
// time that zeroPart takes it along too.
func (m *measured) followZero() {
	if m.after == nil || m.base != 0 || m.rest.N == 0 {
		return
	}
	moved := m.after.Mean - m.rest.Mean
	if math.Abs(moved) > zeroBand*m.scale {
		return // a load left on the line
	}
	m.zeroUp = moved
	shift := unit.Force(moved)
	m.ZeroShift = &shift
	for i, t := range m.course.t {
		m.course.f[i] -= moved * m.timePassed(t)
	}
	half := (m.Start + m.End) / 2
	m.Impulse -= moved * m.timePassed(half) * float64(m.End-m.Start) / 1e9
	half = (m.Start + m.PeakAt) / 2
	m.ToPeak -= moved * m.timePassed(half) * float64(m.PeakAt-m.Start) / 1e9
}

// impulseSpread is how far the impulse may be off: by the calibration, by the
// zero over the whole length, by noise, by the rounding of the readings, and by
// where the force sets in and ceases.
func (m *measured) impulseSpread() float64 {
	seconds := float64(m.End-m.Start) / 1e9
	var relative float64
	for _, t := range m.Terms {
		if t.Name == termCalibration {
			relative = float64(t.High) / math.Max(1, math.Abs(float64(m.Peak)))
		}
	}
	noise := cover95 * float64(m.Noise) * m.rest.lasting() * math.Sqrt(float64(max(1, m.Samples))) * m.step
	return root(relative*m.Impulse, m.zeroSpread((m.Start+m.End)/2).high*seconds, noise, m.resolution().high*seconds, m.ends(), m.foot())
}

// ends is what the trapezoids between readings miss where the force sets in or
// ceases: a jump of J within dt is known to J·dt/√12, a change of slope of s to
// s·dt²/√720 (the standard deviation of θ(1-θ)/2 for a moment θ of dt that may
// be any). Between, the errors of a smooth curve cancel (Euler and Maclaurin,
// from memory).
// Each rebound sets in and ceases once more, less hard. A jump is seen as what
// the step of the readings there has more than half of the next one, up to
// what is usual.
func (m *measured) ends() float64 {
	c, jump, slope := m.course, 0.0, 0.0
	for k := 1; k < m.top; k++ {
		up := c.f[k] - c.f[k-1]
		slope = math.Max(slope, up)
		jump = math.Max(jump, up-math.Max(0, c.f[k+1]-c.f[k])/2)
	}
	jump = math.Min(jump, jumpUsual*(float64(m.Peak)-m.base))
	times := math.Sqrt(1 + float64(min(m.Rebounds, 2))/2)
	return cover95 * times * m.step * math.Hypot(jump/math.Sqrt(12), slope*math.Sqrt(2./720))
}

const jumpUsual = 0.16 // of the peak, see jumpMost

// foot is what was missed of a force that rose or fell so slowly that it was not
// yet told from the line at rest: that of a parabola that begins with the
// pull and reaches 10 % of the peak when the pull did.
func (m *measured) foot() float64 {
	near := math.Max(float64(m.Noise), onsetShare*startShare*m.scale)
	tenth := 0.1 * (float64(m.Peak) - m.base)
	if tenth <= near {
		return near * m.rise.from
	}
	c := m.course
	last := len(c.f) - 1
	for last > 0 && c.f[last]-m.base < tenth {
		last--
	}
	fall := 0.0
	if len(c.t) > 0 {
		fall = float64(m.End-c.t[last]) / 1e9
	}
	return near * math.Sqrt(near/tenth) / 3 * math.Hypot(m.rise.from, fall)
}

// root is the root of the sum of squares.
func root(x ...float64) float64 {
	var sum float64
	for _, v := range x {
		sum += v * v
	}
	return math.Sqrt(sum)
}
