package pull

import (
	"math"

	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// measured is a pull while it is being measured.
type measured struct {
	Pull
	cfg    Config
	all    tally
	course course
	top    int     // point of the course with the largest reading
	scale  float64 // full scale, with this pull's own peak
	base   float64 // level that the pull began at, zero taken off
	step   float64 // seconds between readings
	rest   still
	after  *still
	crowd  crowd
	best   float64 // best estimate of the peak, which may lie above the largest reading
	summit summit
	smooth bool // summit is in use
	pulse  float64
	rise   rise
	zeroUp float64 // the same, one-sided: how far the zero moved upward (positive)
}

// measure measures a pull from its sums: all of them, and those up to its
// end. It is nil where what was found is not high enough to be a pull.
func (f *Finder) measure(p *tautLine, all, ended tally, end int64) *Pull {
	m := &measured{cfg: f.cfg, all: all, step: f.step(), rest: p.rest, after: p.after}
	m.scale = max(f.scale(), f.largest(all.max))
	m.Start, m.End = p.c.startAt, max(end, all.maxAt)
	f.takeZero(m, p)
	height := all.max - float64(m.Zero) - m.base
	if height < f.least(m.scale, p.sigma) || p.underWay && all.max-float64(m.Zero) <= zeroBand*m.scale {
		return nil
	}
	if f.cfg.Capacity <= 0 && float64(-m.Zero) > swingShare*height {
		return nil // a zero that swings about, not a force that rises from it
	}
	m.course = p.c.line.until(m.End, float64(m.Zero))
	m.Samples, m.Rate = ended.n, rateOf(m.step)
	m.top = m.course.largest(all.maxAt)
	m.sums(p, ended)
	m.peak()
	if float64(m.Peak)-m.base < f.least(m.scale, p.sigma)*0.98 {
		return nil // its height was noise
	}
	m.followZero()
	m.shape(p)
	m.flag(p, ended)
	m.interval()
	m.spread()
	return &m.Pull
}

// swingShare is how far below zero, as a share of its height, a pull may begin
// where the capacity is unknown. A line cannot push.
const swingShare = 0.4

// least is the height that makes a pull.
func (f *Finder) least(scale, sigma float64) float64 {
	least := min(peakShare*scale, 2*f.threshold(sigma))
	if f.cfg.Capacity <= 0 {
		least = max(least, unknownLeast)
	}
	return least
}

// largest is the full scale where only readings tell it.
func (f *Finder) largest(reading float64) float64 {
	if f.cfg.Capacity > 0 || f.cfg.FullScale > 0 {
		return 0
	}
	return reading
}

func rateOf(step float64) float64 {
	if step <= 0 {
		return 0
	}
	return 1 / step
}

// takeZero decides what of the quiet level is zero and what is load.
func (f *Finder) takeZero(m *measured, p *tautLine) {
	level := p.level
	m.Noise = unit.Force(p.sigma)
	switch {
	case p.underWay:
		m.Zero = unit.Force(level)
		if !f.zeroOK && f.edge == 0 || !f.zeroOK {
			m.note(FlagZeroUnknown, words.Say("measured.zero.noquiet"))
		}
	case level <= zeroBand*m.scale:
		m.Zero = unit.Force(level)
		if level < -zeroBand*m.scale {
			m.note(FlagZeroFarOff, words.Say("measured.zero.far"))
		}
	default:
		if f.slowZero.known {
			m.Zero = unit.Force(f.slowZero.level)
		} else {
			m.note(FlagZeroUnknown, words.Say("measured.zero.noslack"))
		}
		m.base = level - float64(m.Zero)
		m.Standing = unit.Force(m.base)
		m.note(FlagStanding, words.Say("measured.standing"))
	}
}

// largest is the point of the course with the largest reading, taken at t.
func (c course) largest(t int64) int {
	i := c.from(t)
	if i >= len(c.t) {
		i = len(c.t) - 1
	}
	return max(i, 0)
}

// sums takes over what was added up.
func (m *measured) sums(p *tautLine, ended tally) {
	off := float64(m.Zero) - p.c.base
	m.Impulse = ended.impulse - off*ended.span
	if m.End > ended.end {
		m.Impulse += m.course.between(ended.end, m.End).impulse()
	}
	m.ToPeak = m.all.toMax - off*m.all.spanToMax
	m.PeakAt = m.all.maxAt
	m.Spikes = ended.spikes
	zero := float64(m.Zero)
	m.PeakReading = unit.Force(m.all.max - zero)
	m.PeakFiltered, m.Filter = m.PeakReading, "none"
	m.MaxRise = m.all.rawSlope
	if m.all.through > 0 {
		m.PeakFiltered, m.Filter = unit.Force(m.all.smooth-zero), "CFC 60"
		m.MaxRise = m.all.slope
	}
}

// peak estimates the peak. Without noise it is the largest reading.
func (m *measured) peak() {
	reading, zero := float64(m.PeakReading), float64(m.Zero)
	m.best = reading
	sigma := m.rest.Sigma
	if sigma == 0 && m.rest.N == 0 && m.step > 0 && m.step <= 0.002 {
		sigma = neighbourNoise(m.all.top.f)
		m.Noise = unit.Force(sigma)
	}
	s, ok := findSummit(m.all.top, m.all.top.index(m.all.maxAt), sigma, zero)
	if !ok {
		m.Peak = m.PeakReading
		m.crowded(1, sigma)
		return
	}
	for _, k := range m.all.crests {
		if !k.seen || k.top.at != k.at || abs(k.at-s.at) <= s.half/2 {
			continue // nothing there, or the same top again
		}
		if other, ok := findSummit(k.top, k.top.middle(), sigma, zero); ok && other.value > s.value {
			s = other
		}
	}
	m.summit, m.smooth, m.best = s, true, s.value
	m.crowded(2*s.half+1, s.sd)
	m.Peak = unit.Force(min(m.best, reading))
}

// crowded takes off the best estimate what it owes to being the largest of
// many, each from so many readings and with noise sd.
func (m *measured) crowded(readings int, sd float64) {
	if !(sd > 0) || len(m.course.t) < 2 {
		return
	}
	m.crowd = measureCrowd(m.course.average(float64(readings)*m.step).f, sd)
	m.best -= m.crowd.bias
}

// likely is the likeliest peak, with what sampling hid and what the zero moved.
func (m *measured) likely() float64 {
	best := m.best + m.zeroPart().shift
	if m.smooth && m.summit.half >= 3 {
		return best
	}
	return best + m.missed().likely
}

// topTime is when the force was at its peak.
func (m *measured) topTime() int64 {
	if m.smooth {
		return m.summit.when
	}
	return m.PeakAt
}

// timePassed is the part of the time from the quiet line before to the one
// after that had passed at t.
func (m *measured) timePassed(t int64) float64 {
	return max(0, min(1, float64(t-m.rest.at)/float64(max(1, m.after.at-m.rest.at))))
}

func abs(i int) int { return max(i, -i) }

// index is the place in the capture of the sample at time t; -1 none.
func (c capture) index(t int64) int {
	k := course{t: c.t}.from(t)
	if k < len(c.t) && c.t[k] == t {
		return k
	}
	return -1
}

// middle is the place of the sample that the capture was taken for.
func (c capture) middle() int { return min(c.before, len(c.t)-1) }

// shape measures the course and judges the kind.
func (m *measured) shape(p *tautLine) {
	c, peak := m.course, float64(m.Peak)+m.zeroPart().shift
	if len(c.t) == 0 {
		m.Kind = Steady
		return
	}
	half := m.base + (peak-m.base)/2
	s := shape{peak: peak - m.base, base: m.base, noise: float64(m.Noise), wholeOf: c.whole()}
	s.rise = c.measureRise(m.top, m.base, m.likely(), float64(m.Noise))
	s.half = c.above(half)
	s.bins = c.average(max(binSeconds, m.step))
	s.hold = s.bins.findHold(m.base)
	m.pulse = c.pulse(m.top, half)
	m.rise = s.rise
	m.RiseTime, m.AboveHalf = s.rise.time, c.above(peak/2)
	if m.RiseTime > 0 {
		m.RiseRate = s.rise.height / m.RiseTime
		m.RiseFrom = c.t[0] + int64(s.rise.from*1e9)
	}
	m.Kind = s.kindOf(m.pulse)
	switch m.Kind {
	case Kinetic:
		m.takeRebounds(c.findRebounds(m.top, m.base, peak, m.pulse, float64(m.Noise)))
	case Proof:
		level, decay := unit.Force(s.hold.level), s.hold.decay
		held := s.hold.seconds(s.bins.width)
		m.Steady, m.HoldDecay, m.Held = &level, &decay, &held
	case Steady:
		level, swing := c.works(m.base, peak)
		l, a := unit.Force(level), unit.Force(swing)
		m.Steady, m.StickSlip = &l, &a
	}
}

func (m *measured) takeRebounds(r rebounds) {
	m.Rebounds = r.n
	if r.n > 0 && r.hz > 0 {
		m.Rebound = &r.hz
	}
	if r.n > 0 && r.damping > 0 {
		m.Damping = &r.damping
	}
}

// note adds a flag with its sentence.
func (m *measured) note(flag, sentence string) {
	m.Flags = append(m.Flags, flag)
	m.Remarks = append(m.Remarks, sentence)
}

// flag says what to know before trusting the numbers.
func (m *measured) flag(p *tautLine, ended tally) {
	if m.Flags == nil {
		m.Flags, m.Remarks = []string{}, []string{}
	}
	if p.set {
		m.noteSet(p, ended)
	}
	if p.underWay && !p.atGap && !p.cutIn {
		m.note(FlagUnderWay, words.Say("measured.underway"))
	}
	if m.all.open {
		m.note(FlagNotEnded, words.Say("measured.notended"))
	}
	m.flagGaps(p, ended)
	m.flagMarks(ended)
	if m.cfg.Capacity > 0 && m.all.max > float64(m.cfg.Capacity) {
		m.note(FlagOverCapacity, words.Say("measured.capacity"))
	}
	m.flagZero()
}

// flagGaps looks for readings that are missing, and whether the peak could
// be among them: the gap touches it where it lies within a few readings of
// the largest one, or has a force beside it that is nearly as large.
func (m *measured) flagGaps(p *tautLine, ended tally) {
	gaps := ended.gaps
	if len(m.all.gaps) > len(gaps) && m.all.open {
		gaps = m.all.gaps
	}
	if len(gaps) == 0 && !p.atGap {
		return
	}
	m.note(FlagGap, words.Say("measured.gap"))
	near := int64(5 * m.step * 1e9)
	for _, g := range gaps {
		beside := max(m.course.at(g.from), m.course.at(g.to))
		if m.PeakAt >= g.from-near && m.PeakAt <= g.to+near || beside >= 0.8*float64(m.PeakReading) {
			m.note(FlagGapAtPeak, words.Say("measured.gap.peak"))
			return
		}
	}
	if p.atGap && m.PeakAt-m.Start <= near {
		m.note(FlagGapAtPeak, words.Say("measured.gap.peak"))
	}
}

// at is the force at the last point not behind t.
func (c course) at(t int64) float64 {
	i := c.from(t + 1)
	if i == 0 {
		return 0
	}
	return c.f[i-1]
}

func (m *measured) flagMarks(ended tally) {
	if ended.overload > 0 {
		m.note(FlagOverload, words.Say("measured.overload"))
	} else if n, yes := m.saturated(); yes {
		m.note(FlagOverload, words.Count("measured.saturated", n))
	}
	if ended.voids > 0 {
		m.note(FlagInvalid, words.Say("measured.void"))
	}
	if ended.spikes > 0 {
		m.note(FlagSpikes, words.Count("measured.spikes", ended.spikes))
	}
	if m.Samples < fewReadings {
		m.note(FlagFewReadings, words.Count("measured.few", m.Samples))
	}
}

const fewReadings = 12

// flagZero tells of a quiet level that is another after the pull than before.
func (m *measured) flagZero() {
	if m.ZeroShift == nil {
		return
	}
	moved := m.zeroUp
	noise := math.Hypot(m.rest.Sigma, m.after.Sigma)
	if math.Abs(moved) > max(3*noise/math.Sqrt(float64(min(m.after.N, 64))), startShare*m.scale) {
		m.note(FlagZeroMoved, words.Say("measured.zero.moved", unit.Force(moved).String()))
	}
}
