package trace

import "math"

// CFC is the low-pass filter of a channel frequency class: a two-pole
// Butterworth filter run once forward and once backward, four poles without
// a shift in time.
//
// Source: SAE J211-1 (MAR95), appendix C, with its constant 2.0775; ISO 6487
// has 25/12 in its place. The argument is the class, not the frequency at
// which the gain is -3 dB (5/3 of the class).
type CFC struct {
	Class          float64
	a0, a1, a2     float64
	b1, b2         float64
	start0, start1 float64 // state of a filter that has seen 1 for ever
}

// DefaultClass is the class for line forces: SAE J211-1 asks class 60 of
// structural forces and barrier forces.
const DefaultClass = 60

// NewCFC makes the filter of a class for readings at rate a second. It is
// false where the rate is below ten times the class: then the standard's
// sampling rule is not met and there is no filter.
func NewCFC(class, rate float64) (CFC, bool) {
	// Readings stamped in whole nanoseconds may miss the rate by a hair.
	if !(class > 0) || !(rate >= 10*class*(1-1e-6)) || math.IsInf(rate, 0) {
		return CFC{}, false
	}
	wd := 2 * math.Pi * class * 2.0775
	wa := math.Tan(wd / rate / 2)
	d := 1 + math.Sqrt2*wa + wa*wa
	c := CFC{
		Class: class,
		a0:    wa * wa / d, a1: 2 * wa * wa / d, a2: wa * wa / d,
		b1: -2 * (wa*wa - 1) / d, b2: (-1 + math.Sqrt2*wa - wa*wa) / d,
	}
	// At rest at 1: out = 1, s0 = 1 - a0, s1 = a2 + b2.
	c.start0, c.start1 = 1-c.a0, c.a2+c.b2
	return c, true
}

// Coefficients gives a0, a1, a2, b1, b2 of the recurrence
// y[t] = a0·x[t] + a1·x[t-1] + a2·x[t-2] + b1·y[t-1] + b2·y[t-2].
func (c CFC) Coefficients() [5]float64 { return [5]float64{c.a0, c.a1, c.a2, c.b1, c.b2} }

// Settle is the number of readings after which a disturbance has faded to
// less than 1e-12 of itself.
func (c CFC) Settle() int {
	radius := math.Sqrt(math.Abs(c.b2))
	return int(math.Ceil(math.Log(1e-13)/math.Log(radius))) + 8
}

// Pad is the number of readings by which Apply continues each end of n
// readings: the larger of 10 ms and 100 readings, but fewer than n.
func Pad(rate float64, n int) int {
	return max(0, min(max(int(math.Ceil(0.01*rate-1e-9)), 100), n-1))
}

// Apply filters a whole stretch. Each end is continued by its mirror image
// about the end point (ISO 6487) over Pad readings, and each pass starts at
// rest at its first value, so that a stretch that begins or ends under load
// shows no false step.
func (c CFC) Apply(rate float64, x []float64) []float64 {
	n := len(x)
	if n == 0 {
		return nil
	}
	pad := Pad(rate, n)
	y := make([]float64, 0, n+2*pad)
	for i := pad; i > 0; i-- {
		y = append(y, 2*x[0]-x[i])
	}
	y = append(y, x...)
	for i := 1; i <= pad; i++ {
		y = append(y, 2*x[n-1]-x[n-1-i])
	}
	s := c.At(y[0])
	for i, v := range y {
		y[i] = s.Next(v)
	}
	c.Back(y)
	return y[pad : pad+n]
}

// Back runs the filter backward over y in place, starting at rest at its
// last value.
func (c CFC) Back(y []float64) {
	if len(y) == 0 {
		return
	}
	s := c.At(y[len(y)-1])
	for i := len(y) - 1; i >= 0; i-- {
		y[i] = s.Next(y[i])
	}
}

// Pass is one pass of the filter, forward in the order of its calls.
type Pass struct {
	c      CFC
	s0, s1 float64
}

// At starts a pass at rest at x.
func (c CFC) At(x float64) Pass { return Pass{c: c, s0: c.start0 * x, s1: c.start1 * x} }

// Next takes the next value and gives the filtered one.
func (p *Pass) Next(x float64) float64 {
	y := p.c.a0*x + p.s0
	p.s0 = p.c.a1*x + p.c.b1*y + p.s1
	p.s1 = p.c.a2*x + p.c.b2*y
	return y
}
