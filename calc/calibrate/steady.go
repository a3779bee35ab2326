package calibrate

import (
	"math"

	"tautlog/calc/words"
)

// The rule of steadiness. Its numbers are the program's own: no standard was
// followed.
const (
	SteadySeconds = 3.0    // how long the readings are looked at
	steadyNoise   = 0.0005 // of full scale: largest standard deviation
	steadyDrift   = 0.0002 // of full scale: largest drift over the time, beside what noise feigns
	steadyLeast   = 10     // readings
	steadyCovered = 0.9    // of the time
)

// Steadiness is what the readings of a few seconds say of a load that hangs.
type Steadiness struct {
	Steady bool
	Why    string  // for people: what is steady, or why it is not
	Mean   float64 // of the readings
	SD     float64 // of one reading around the line through them
	Drift  float64 // by how much that line rises over the time
	Count  int
	From   int64 // time of the first reading, ns UTC
	To     int64 // and of the last
}

// Steady tells whether readings at the times t, ns UTC, are steady: over three
// seconds the line through them rises or falls by no more than 0.02 % of full
// scale beside two standard deviations of what noise feigns, and they scatter
// around it by no more than 0.05 % (one standard deviation), or by a step.
// FullScale is in readings; 0: unknown, the largest reading counts. Marked says
// that the instrument called one of them void or an overload.
func Steady(t, raw []int64, marked bool, fullScale float64) Steadiness {
	s := Steadiness{Count: len(raw)}
	if s.Count > 0 {
		s.From, s.To = t[0], t[len(t)-1]
	}
	if s.Count > 2 {
		s.line(t, raw)
	}
	seconds := float64(s.To-s.From) / 1e9
	switch {
	case s.Count < steadyLeast || seconds < steadyCovered*SteadySeconds:
		s.Why = words.Count("calibrate.steady.few", s.Count, seconds, steadyLeast, SteadySeconds)
		return s
	case gapIn(t):
		s.Why = words.Say("calibrate.steady.gap")
		return s
	case marked:
		s.Why = words.Say("calibrate.steady.marked")
		return s
	}
	if fullScale <= 0 {
		fullScale = math.Max(math.Abs(s.Mean), 1000)
	}
	feigned := 2 * s.SD * math.Sqrt(12/float64(s.Count))
	switch noise, drift := math.Max(1, steadyNoise*fullScale), math.Max(1, steadyDrift*fullScale)+feigned; {
	case s.SD > noise:
		s.Why = words.Say("calibrate.steady.swings", s.SD, noise)
	case math.Abs(s.Drift) > drift:
		s.Why = words.Say("calibrate.steady.drifts", s.Drift, seconds, drift)
	default:
		s.Steady = true
		s.Why = words.Say("calibrate.steady.is", seconds, s.Drift, s.SD)
	}
	return s
}

// gapIn tells whether two readings lie five times as far apart as they do in
// the mean.
func gapIn(t []int64) bool {
	mean := (t[len(t)-1] - t[0]) / int64(len(t)-1)
	for i := range t[1:] {
		if t[i+1]-t[i] > 5*mean {
			return true
		}
	}
	return false
}

// line puts the straight line through the readings.
func (s *Steadiness) line(t, raw []int64) {
	n := float64(s.Count)
	var mt float64
	for i := range t {
		mt += float64(t[i]-t[0]) / n
		s.Mean += float64(raw[i]) / n
	}
	var tt, tr float64
	for i := range t {
		d := float64(t[i]-t[0]) - mt
		tt += d * d
		tr += d * (float64(raw[i]) - s.Mean)
	}
	slope := tr / tt
	for i := range t {
		r := float64(raw[i]) - s.Mean - slope*(float64(t[i]-t[0])-mt)
		s.SD += r * r / (n - 2)
	}
	s.SD = math.Sqrt(s.SD)
	s.Drift = slope * float64(s.To-s.From)
}

// SameAs tells that a reading cannot be told from an earlier one: a load that
// was said to be another has not been changed.
func (s Steadiness) SameAs(reading, sd float64) bool {
	return math.Abs(s.Mean-reading) <= math.Max(1, 3*math.Hypot(s.SD, sd)/math.Sqrt(math.Max(1, float64(s.Count))))
}
