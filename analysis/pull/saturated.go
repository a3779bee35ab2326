package pull

import "math"

// saturated says that the largest reading was the end of the instrument's
// range and not the top of the force, for how many readings in a row: they are
// all equal, far longer than any others in the pull, and either the noise of
// the line is gone from them, or the force ran into them too fast to have
// turned there.
func (m *measured) saturated() (readings int, yes bool) {
	n := m.all.topRun
	if n < leastRun || n < 3*m.all.otherRun {
		return n, false
	}
	return n, n >= m.runOfNoise() || m.Kind == Kinetic && m.cutOff(n)
}

const (
	leastRun   = 4
	chanceRun  = 1e-8 // that noise makes equal readings in a row as long as that
	cutOffMore = 4    // times noise and step that a cut-off top must hide
)

// runOfNoise is the number of readings in a row that noise does not leave
// equal by chance: the largest share of a normal distribution that lies within
// one step of the readings, multiplied up.
func (m *measured) runOfNoise() int {
	sigma := m.rest.Sigma
	if !(sigma > 0) {
		return math.MaxInt
	}
	within := math.Erf(m.stepOfReadings() / 2 / sigma / math.Sqrt2)
	if within > 0.999 {
		return math.MaxInt
	}
	return max(leastRun, int(math.Ceil(math.Log(chanceRun)/math.Log(max(within, 1e-3)))))
}

// stepOfReadings is that of the cell, or the one seen on the quiet line.
func (m *measured) stepOfReadings() float64 {
	if q := float64(m.cfg.Resolution); q > 0 {
		return q
	}
	return m.rest.Step
}

// cutOff says that a parabola which enters and leaves n equal readings as
// steeply as the readings beside them do would rise well above them. The top
// of one that was only rounded stays within a step.
func (m *measured) cutOff(n int) bool {
	c := m.all.top
	k := c.index(m.all.maxAt)
	if k < 2 || k+n+1 >= len(c.f) {
		return false
	}
	slope := math.Min(c.f[k]-c.f[k-2], c.f[k]-c.f[k+n+1]) / 2
	step := math.Inf(1)
	for i := 1; i < len(c.f); i++ {
		if d := math.Abs(c.f[i] - c.f[i-1]); d > 0 {
			step = math.Min(step, d)
		}
	}
	return slope*float64(n)/4 > cutOffMore*math.Max(math.Max(step, m.stepOfReadings()), m.rest.Sigma)
}
