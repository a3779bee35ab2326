package pull

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"tautlog/calc/unit"
)

// The names of the terms that others ask for.
const (
	termCalibration = "calibration"
	termNoise       = "noise"
	termZero        = "zero"
	termSampling    = "sampling"
)

// notKnown begins the note of a term that is left out for want of knowledge.
const notKnown = "not known"

// part is one source of uncertainty of the peak: by how much it moves the
// best estimate from the peak that is given, and half widths of its 95 %
// interval around that.
type part struct {
	name      string
	shift     float64
	low, high float64
	note      string
}

const (
	cover95      = 1.96
	largestLow   = 1.1   // the largest of noisy readings is rather too high than too low: by these factors of its
	largestHigh  = 0.7   // noise below and above, from the simulated pulls of the tests
	standingZero = 0.001 // of full scale: how far a zero may be off under a standing tension; common practice, no source
	samplingTell = 0.02  // of the peak: what sampling may hide before it is said plainly
)

// interval puts the parts together (JCGM 100:2008, 5.1.2: squares add), each
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
		m.Terms = append(m.Terms, Term{Name: p.name, Low: unit.Force(max(0, p.low-p.shift)), High: unit.Force(max(0, p.high+p.shift)), Shift: unit.Force(p.shift), Note: p.note})
	}
	m.PeakLow = unit.Force(min(peak, centre-math.Sqrt(low)))
	m.PeakHigh = unit.Force(max(peak, centre+math.Sqrt(high)))
	if m.Flags == nil {
		m.Flags, m.Remarks = []string{}, []string{}
	}
}

// resolution is that of one reading, spread evenly over one step: q/√12.
func (m *measured) resolution() part {
	q, note := float64(m.cfg.Resolution), "one step of the reading"
	if q <= 0 {
		q, note = 0, notKnown
		if m.rest.Step > 0 && m.rest.Sigma < m.rest.Step {
			q, note = m.rest.Step, "one step of the reading, as seen on the quiet line"
		}
	}
	u := cover95 * q / math.Sqrt(12)
	return part{name: "resolution", low: u, high: u, note: note}
}

func (m *measured) noisePart() part {
	if m.smooth {
		u := cover95 * m.summit.sd
		return part{name: termNoise, shift: m.best - float64(m.Peak), low: u, high: u,
			note: fmt.Sprintf("smoothed over %d readings", 2*m.summit.half+1)}
	}
	u := cover95 * float64(m.Noise)
	return part{name: termNoise, low: largestLow * u, high: largestHigh * u, note: "of one reading"}
}

// zeroPart is what is not known of the zero: how well the quiet line gave it,
// and how far it moved until after the pull.
func (m *measured) zeroPart() part {
	p := part{name: termZero}
	if m.rest.N == 0 {
		u := 0.95 * zeroBand * m.scale
		p.low, p.high, p.note = u, u, "no quiet line before: anywhere within 2 % of full scale"
		return p
	}
	u := cover95 * m.rest.Sigma / math.Sqrt(math.Max(1, float64(m.rest.N)))
	p.low, p.high, p.note = u, u, "from the quiet line"
	if m.base != 0 {
		u = math.Hypot(u, standingZero*m.scale)
		p.low, p.high, p.note = u, u, "from before the line came under tension: it may have moved since"
	}
	// The zero at the peak lies anywhere between the two levels. One that has
	// risen made the reading too large.
	if half := 0.95 * math.Abs(m.zeroUp) / 2; half > 0 {
		p.shift = -m.zeroUp / 2
		p.low, p.high = math.Hypot(u, half), math.Hypot(u, half)
		p.note = "from the quiet line before and after"
	}
	return p
}

// filterPart is nothing: the peak is taken from the readings themselves.
func (m *measured) filterPart() part {
	return part{name: "filter", note: "the peak is from unfiltered readings"}
}

// lag bounds what a first-order amplifier of time constant τ takes off a
// half-sine of the pulse's length T: its gain is 1/√(1+(πτ/T)²).
func (m *measured) lag() part {
	tau := m.cfg.LagSeconds
	if tau <= 0 {
		return part{name: "lag", note: notKnown}
	}
	length := 1.5 * m.pulse
	if length <= 0 {
		return part{name: "lag", note: notKnown + ": the pulse is too short"}
	}
	u := float64(m.Peak) * (math.Sqrt(1+math.Pow(math.Pi*tau/length, 2)) - 1)
	return part{name: "lag", shift: u, low: u, high: u, note: "of the amplifier, for a half-sine of the pulse's length"}
}

// sampling is what may have passed between readings.
func (m *measured) sampling() part {
	p := part{name: termSampling}
	if m.smooth && m.summit.half >= 3 {
		p.high, p.note = m.summit.sag, "from the curve at the top"
		return p
	}
	likely, most, note := m.missed()
	p.shift, p.low, p.high, p.note = likely, likely, most-likely, note
	peak := float64(m.Peak)
	if hidden := max(most, peak*m.hideable()); hidden > samplingTell*peak && m.step > 0 {
		cause := "Read " + digits(1/m.step) + " times a second"
		if slices.Contains(m.Flags, FlagGapAtPeak) {
			cause = "With readings missing there"
		}
		m.note(FlagSampling, fmt.Sprintf("%s: the true peak may be up to %s %% higher.", cause, digits(100*hidden/peak)))
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

// missed says how much higher than the largest reading the true peak likely
// is and may be, from the two readings on either side of it.
//
// A half-sine through the three readings at the top gives the likely miss. A
// force that curves downward around its top lies below the straight lines
// through the readings on either side, carried on to where they meet: that is
// the most a sharp top can hide. Whether the top is sharp is seen from how
// much the readings further out curve against those at the top.
func (m *measured) missed() (likely, most float64, note string) {
	y, ok := m.topFive()
	if !ok {
		peak := float64(m.Peak)
		return 0, peak, "too few readings around the largest one"
	}
	round := roundMiss(y)
	sharp := max(round, sharpMiss(y))
	top := 2*y[2] - y[1] - y[3]
	outer := (2*y[1] - y[0] - y[2] + 2*y[3] - y[2] - y[4]) / 2
	roundness := 0.0
	if top > 0 {
		roundness = max(0, min(1, outer/top))
	}
	weight := 1 - 0.8*roundness
	return round, round + weight*(sharp-round), "from the readings around the largest one"
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
// meet above the largest one, in the interval before it or behind it.
func sharpMiss(y [5]float64) float64 {
	meet := func(a, b, c, d float64) float64 {
		// b and c are the ends of the interval, a before b and d behind c.
		left, right := b-a, c-d
		x := (c - b + right) / (left + right)
		if left <= 0 || right <= 0 || math.IsNaN(x) {
			return max(b, c)
		}
		return b + left*max(0, min(1, x))
	}
	return max(meet(y[0], y[1], y[2], y[3]), meet(y[1], y[2], y[3], y[4]), y[2]) - y[2]
}

// digits prints a number with two significant digits and no exponent.
func digits(v float64) string {
	if v <= 0 || math.IsInf(v, 0) || math.IsNaN(v) {
		return "0"
	}
	p := math.Pow(10, math.Floor(math.Log10(v))-1)
	return strconv.FormatFloat(math.Round(v/p)*p, 'f', max(0, -int(math.Round(math.Log10(p)))), 64)
}

// count prints a number of things.
func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}
