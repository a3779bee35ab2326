package pull

import "math"

// Align says at what moment two pulls are laid over each other.
type Align string

// The moments.
const (
	AtOnset Align = "onset" // where the line begins to take load
	AtPeak  Align = "peak"  // at the largest reading
)

// Origin is the time of the moment at which a pull is aligned.
func (p Pull) Origin(a Align) int64 {
	if a == AtPeak {
		return p.PeakAt
	}
	return p.Start
}

// Difference is by how much one number is larger than another, with the 95 %
// interval of that.
type Difference struct {
	Value float64 `json:"difference"`
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
}

// Told says that the two numbers differ by more than they are uncertain.
func (d Difference) Told() bool { return d.Low > 0 || d.High < 0 }

// Comparison is what pull b has more than pull a.
type Comparison struct {
	Peak     Difference  // N
	RiseTime *Difference // s; nil where the rise of one was not seen
	Impulse  Difference  // N·s
}

// Compare compares pull b with pull a. Two pulls that the same cell measured
// share the error of its calibration, which then counts for the difference
// only and not for either pull.
func Compare(a, b Pull, sameCell bool) Comparison {
	la, ha, ca := a.sides(sameCell)
	lb, hb, cb := b.sides(sameCell)
	c := Comparison{
		Peak:    difference(float64(b.Peak-a.Peak), math.Hypot(lb, ha), math.Hypot(hb, la), math.Max(ca, cb)),
		Impulse: difference(b.Impulse-a.Impulse, 0, 0, 0),
	}
	ia, ib := a.Impulse95, b.Impulse95
	shared := 0.0
	if sameCell {
		ia, ib = less(ia, ca*a.Impulse), less(ib, cb*b.Impulse)
		shared = math.Max(ca, cb)
	}
	c.Impulse = difference(b.Impulse-a.Impulse, math.Hypot(ia, ib), math.Hypot(ia, ib), shared)
	if a.RiseTime > 0 && b.RiseTime > 0 {
		u := math.Hypot(a.RiseTime95, b.RiseTime95)
		d := difference(b.RiseTime-a.RiseTime, u, u, 0)
		c.RiseTime = &d
	}
	return c
}

// difference makes a Difference of a value with what it is uncertain by on
// either side, and by a share of itself.
func difference(v, low, high, relative float64) Difference {
	return Difference{v, v - math.Hypot(low, relative*v), v + math.Hypot(high, relative*v)}
}

// sides gives how far the true peak may lie below and above the one that is
// given. Where the calibration is shared it is taken out and given apart, as
// a share of the peak.
func (p Pull) sides(shared bool) (low, high, relative float64) {
	if !shared {
		return float64(p.Peak - p.PeakLow), float64(p.PeakHigh - p.Peak), 0
	}
	var shift float64
	for _, t := range p.Terms {
		s := float64(t.Shift)
		shift += s
		if t.Name == termCalibration {
			relative = float64(t.High) / math.Max(1, math.Abs(float64(p.Peak)))
			continue
		}
		low = math.Hypot(low, math.Max(0, float64(t.Low)+s))
		high = math.Hypot(high, math.Max(0, float64(t.High)-s))
	}
	return math.Max(0, low-shift), math.Max(0, high+shift), relative
}

// less takes one part out of a root of squares.
func less(all, part float64) float64 { return math.Sqrt(math.Max(0, all*all-part*part)) }
