package pull

import (
	"math"
	"slices"
	"strconv"

	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// The names of the terms that others ask for.
const (
	termCalibration = "calibration"
	termNoise       = "noise"
	termZero        = "zero"
	termSampling    = "sampling"
)

// part is one source of uncertainty of the peak: by how much it moves the
// best estimate from the peak that is given, and half widths of its 95 %
// interval around that.
type part struct {
	name      string
	shift     float64
	low, high float64
	note      string
	unknown   bool // nothing is known of it: it is left out
}

// unknownPart is one of which nothing is known, as its note says.
func unknownPart(name, note string) part { return part{name: name, note: note, unknown: true} }

const (
	cover95      = 1.96
	largestLow   = 1.2    // the largest of noisy readings is rather too high than too low, also once crowd is taken off:
	largestHigh  = 0.9    // factors of its noise below and above, from the simulated pulls of the tests
	standingZero = 0.001  // of full scale: how far a zero may be off under a standing tension; common practice, no source
	zeroBend     = 1. / 8 // of the zero's movement, see zeroPart
	samplingTell = 0.02   // of the peak: what sampling may hide before it is said plainly
)

// interval puts the parts together (JCGM 100:2008, 5.1.2, the clause from memory: squares add), each
// side for itself as they are not symmetric.
func (m *measured) interval() {
	parts := []part{m.calibration(), m.resolution(), m.noisePart(), m.zeroPart(), m.filterPart(), m.sampling(), m.lag()}
	peak := float64(m.Peak)
	centre := peak
	var low, high float64
	for _, p := range parts {
		centre += p.shift
		low += p.low * p.low
		high += p.high * p.high
		m.Terms = append(m.Terms, Term{Name: p.name, Low: unit.Force(max(0, p.low-p.shift)), High: unit.Force(max(0, p.high+p.shift)), Shift: unit.Force(p.shift), Note: p.note, Unknown: p.unknown})
	}
	m.PeakLow = unit.Force(min(peak, centre-math.Sqrt(low)))
	m.PeakHigh = unit.Force(max(peak, centre+math.Sqrt(high)))
	if m.Flags == nil {
		m.Flags, m.Remarks = []string{}, []string{}
	}
}

// resolution is that of one reading, spread evenly over one step: q/√12. Where
// the noise spans half a step and more, the rounding is part of the noise that
// was measured, and goes down with it where readings are averaged (dither:
// Gray and Stockham, IEEE Transactions on Information Theory 39, 1993, from memory).
func (m *measured) resolution() part {
	p := part{name: "resolution", note: words.Say("measured.note.step")}
	q := float64(m.cfg.Resolution)
	if q <= 0 {
		p.note, p.unknown = words.Say("measured.note.unknown"), true
		if m.rest.Step > 0 && m.rest.Sigma < m.rest.Step {
			q, p.unknown, p.note = m.rest.Step, false, words.Say("measured.note.step.seen")
		}
	}
	if q > 0 && m.rest.Sigma >= q/2 {
		p.note = words.Say("measured.note.step.noise")
		return p
	}
	p.low = cover95 * max(0, q) / math.Sqrt(12)
	p.high = p.low
	return p
}

func (m *measured) noisePart() part {
	if m.smooth {
		u := cover95 * m.summit.sd
		return part{name: termNoise, shift: m.best - float64(m.Peak), low: u, high: u,
			note: words.Count("measured.note.smoothed", 2*m.summit.half+1)}
	}
	u := cover95 * float64(m.Noise)
	return part{name: termNoise, shift: m.best - float64(m.Peak), low: largestLow * u, high: largestHigh * u, note: words.Say("measured.note.noise")}
}

// zeroPart is what is not known of the zero: how well the quiet line gave it,
// and how far it moved until after the pull.
//
// Of a zero that moved, the peak has its share on the straight line in time
// from the quiet line before to the one after, as in weighing by substitution
// (A, B, A). The course between may bend: a zero that follows a temperature
// exponentially, with a time constant of four times the time between or more, leaves
// the line by no more than zeroBend of its movement times both shares of the
// time.
func (m *measured) zeroPart() part { return m.zeroSpread(m.topTime()) }

// zeroSpread is that of the zero at time t.
func (m *measured) zeroSpread(t int64) part {
	p := part{name: termZero}
	if m.rest.N == 0 {
		u := 0.95 * zeroBand * m.scale
		p.low, p.high, p.note = u, u, words.Say("measured.note.zero.none")
		return p
	}
	u := cover95 * m.rest.se
	p.low, p.high, p.note = u, u, words.Say("measured.note.zero")
	if m.base != 0 {
		u = math.Hypot(u, standingZero*m.scale)
		p.low, p.high, p.note = u, u, words.Say("measured.note.zero.tension")
	}
	if m.zeroUp != 0 {
		passed := m.timePassed(t)
		p.shift = -m.zeroUp * passed
		bend := zeroBend * passed * (1 - passed) * m.zeroUp
		u = root(u*(1-passed), cover95*m.after.se*passed, bend)
		p.low, p.high, p.note = u, u, words.Say("measured.note.zero.both")
	}
	return p
}

// filterPart is nothing: the peak is taken from the readings themselves.
func (m *measured) filterPart() part {
	return part{name: "filter", note: words.Say("measured.note.filter")}
}

// lag bounds what a first-order amplifier of time constant τ takes off a
// half-sine of the pulse's length T: its gain is 1/√(1+(πτ/T)²).
func (m *measured) lag() part {
	tau := m.cfg.LagSeconds
	if tau <= 0 {
		return unknownPart("lag", words.Say("measured.note.unknown"))
	}
	length := 1.5 * m.pulse
	if length <= 0 {
		return unknownPart("lag", words.Say("measured.note.lag.short"))
	}
	u := float64(m.Peak) * (math.Sqrt(1+math.Pow(math.Pi*tau/length, 2)) - 1)
	return part{name: "lag", shift: u, low: u, high: u, note: words.Say("measured.note.lag")}
}

// sampling is what may have passed between readings.
func (m *measured) sampling() part {
	p := part{name: termSampling}
	if m.smooth && m.summit.half >= 3 {
		p.high, p.note = m.summit.hidden, words.Say("measured.note.sampling.curve")
		return p
	}
	g := m.missed()
	p.shift, p.low, p.high, p.note = g.likely, g.low, g.high, g.note
	most := g.likely + g.high
	peak := float64(m.Peak)
	if hidden := max(most, peak*m.hideable()); hidden > samplingTell*peak && m.step > 0 {
		higher := digits(100 * hidden / peak)
		says := words.Say("measured.sampling.rate", digits(1/m.step), higher)
		if slices.Contains(m.Flags, FlagGapAtPeak) {
			says = words.Say("measured.sampling.gap", higher)
		}
		m.note(FlagSampling, says)
	}
	return p
}

// hideable is the part of a half-sine as long as the pulse that readings so
// far apart can miss at most: 1 - cos(π·dt/(2T)) for dt below T. A half-sine
// is above half of its top for two thirds of its length.
func (m *measured) hideable() float64 {
	length := 1.5 * m.pulse
	if m.Kind != Kinetic || length <= 0 || m.step >= length {
		return 0
	}
	return 1 - math.Cos(math.Pi*m.step/(2*length))
}

// miss is by how much the true peak likely lies above the largest reading, and
// half widths around that.
type miss struct {
	likely, low, high float64
	note              string
}

const (
	roundKnown   = 0.45 // what a half-sine says is hidden is known to this part of itself
	sharpSlope   = 1.2  // between readings a force may turn that much steeper than it is seen to
	footShare    = 0.1  // of the largest reading: a lower one is at the foot of the pulse
	sharpNoise   = 0.7  // of the noise of a reading: how far it moves where the straight lines meet
	unknownRound = 0.5  // roundness of a top that no reading tells of
	sharpFading  = 6    // power by which the chance of a sharp top falls with its roundness
)

// missed says how much higher than the largest reading the true peak likely
// is and may be, from the two readings on either side of it.
//
// A half-sine through the three readings at the top gives the likely miss. A
// sharp top hides more: it lies at most where the straight lines through the
// readings on either side, carried on somewhat steeper, meet. Whether the top
// is sharp is seen from its roundness. Where even a sharp top hides less than a
// half-sine would, as when a line slips and the load falls off within a reading,
// the top is anywhere below that. The constants are from the simulated pulls of
// the tests.
func (m *measured) missed() miss {
	y, ok := m.topFive()
	if !ok {
		return miss{high: float64(m.Peak), note: words.Say("measured.note.sampling.few")}
	}
	note := words.Say("measured.note.sampling")
	round, sharp := roundMiss(y), sharpMiss(y)
	if sharp < round {
		u := math.Hypot(sharp/2, cover95*sharpNoise*float64(m.Noise))
		return miss{likely: sharp / 2, low: u, high: u, note: note}
	}
	chance := math.Pow(1-roundness(y), sharpFading)
	return miss{likely: round, low: roundKnown * round, high: math.Hypot(roundKnown*round, chance*(sharp-round)), note: note}
}

// roundness compares how much the course turns at the readings y₋, y₀ and y₊:
// the least of the three over the most, 1 for a parabola and 0 for a corner.
// Where the reading beyond is at the foot of the pulse, the turn beside it is
// that of the foot and says nothing of the top.
func roundness(y [5]float64) float64 {
	top := 2*y[2] - y[1] - y[3]
	least, most, seen := top, top, false
	take := func(beyond, turn float64) {
		if beyond > footShare*y[2] {
			least, most, seen = min(least, turn), max(most, turn), true
		}
	}
	take(y[0], 2*y[1]-y[0]-y[2])
	take(y[4], 2*y[3]-y[2]-y[4])
	if !seen || most <= 0 {
		return unknownRound
	}
	return max(0, least/most)
}

// topFive gives the largest reading and two on either side.
func (m *measured) topFive() (y [5]float64, ok bool) {
	c := m.all.top
	k := c.index(m.all.maxAt)
	if k < 1 || k+1 >= len(c.f) {
		return y, false
	}
	zero := float64(m.Zero)
	for i := range y {
		j := max(0, min(len(c.f)-1, k-2+i))
		y[i] = c.f[j] - zero
	}
	return y, true
}

// roundMiss is how far the top of the half-sine A·cos(ωt-φ) through the
// middle three readings lies above the largest: (y₋+y₊)/(2y₀) = cos ωdt.
func roundMiss(y [5]float64) float64 {
	a, b, c := y[1], y[2], y[3]
	if b <= 0 {
		return 0
	}
	cos := (a + c) / 2 / b
	if cos > 0.999999 {
		return 0
	}
	if cos < 0 {
		cos = 0
	}
	sin := math.Sqrt(1 - cos*cos)
	return math.Hypot(b, (c-a)/2/sin) - b
}

// sharpMiss is how far the straight lines through the readings on either side
// meet above the largest one, in the interval before it or behind it, as steep
// as the force is seen to be anywhere on that side.
func sharpMiss(y [5]float64) float64 {
	meet := func(b, c, up, down float64) float64 {
		if up <= 0 || down <= 0 {
			return max(b, c)
		}
		up, down = sharpSlope*up, sharpSlope*down
		return b + up*max(0, min(1, (c-b+down)/(up+down)))
	}
	before := meet(y[1], y[2], max(y[1]-y[0], y[2]-y[1]), y[2]-y[3])
	behind := meet(y[2], y[3], y[2]-y[1], max(y[2]-y[3], y[3]-y[4]))
	return max(before, behind, y[2]) - y[2]
}

// digits prints a number with two significant digits and no exponent.
func digits(v float64) string {
	if v <= 0 || math.IsInf(v, 0) || math.IsNaN(v) {
		return "0"
	}
	p := math.Pow(10, math.Floor(math.Log10(v))-1)
	return strconv.FormatFloat(math.Round(v/p)*p, 'f', max(0, -int(math.Round(math.Log10(p)))), 64)
}
