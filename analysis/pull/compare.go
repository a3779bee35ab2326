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
	RiseRate *Difference // N/s, of the mean; nil likewise
	Impulse  Difference  // N·s
}

// Compare compares pull b with pull a. Two pulls that the same cell measured
// share the error of its calibration, which then counts for the difference
// only and not for either pull. The interval lies about the difference of the
// likeliest peaks, which is not always that of the peaks as given.
func Compare(a, b Pull, sameCell bool) Comparison {
	pa, pb := a.likeliest(sameCell), b.likeliest(sameCell)
	shared := math.Max(pa.relative, pb.relative)
	peak := difference(pb.value-pa.value, math.Hypot(pb.low, pa.high), math.Hypot(pb.high, pa.low), shared)
	given := float64(b.Peak - a.Peak)
	c := Comparison{Peak: Difference{given, math.Min(given, peak.Low), math.Max(given, peak.High)}}
	ia, ib := less(a.Impulse95, pa.relative*a.Impulse), less(b.Impulse95, pb.relative*b.Impulse)
	c.Impulse = difference(b.Impulse-a.Impulse, math.Hypot(ia, ib), math.Hypot(ia, ib), shared)
	if a.RiseTime > 0 && b.RiseTime > 0 {
		u := math.Hypot(a.RiseTime95, b.RiseTime95)
		d := difference(b.RiseTime-a.RiseTime, u, u, 0)
		c.RiseTime = &d
		ra, rb := less(a.RiseRate95, pa.relative*a.RiseRate), less(b.RiseRate95, pb.relative*b.RiseRate)
		rate := difference(b.RiseRate-a.RiseRate, math.Hypot(ra, rb), math.Hypot(ra, rb), shared)
		c.RiseRate = &rate
	}
	return c
}

// difference makes a Difference of a value with what it is uncertain by on
// either side, and by a share of itself.
func difference(v, low, high, relative float64) Difference {
	return Difference{v, v - math.Hypot(low, relative*v), v + math.Hypot(high, relative*v)}
}

// likeliest is the likeliest peak and how far the true one may lie below and
// above it.
type likeliest struct {
	value, low, high float64
	relative         float64 // what is known of the calibration, where that is shared: a share of the peak, in none of the others
}

// likeliest takes the terms of the interval apart again, and the calibration
// out where it is shared.
func (p Pull) likeliest(shared bool) likeliest {
	l := likeliest{value: float64(p.Peak)}
	for _, t := range p.Terms {
		low, high := t.about()
		l.value += float64(t.Shift)
		if shared && t.Name == termCalibration {
			l.relative = high / math.Max(1, math.Abs(float64(p.Peak)))
			continue
		}
		l.low, l.high = math.Hypot(l.low, low), math.Hypot(l.high, high)
	}
	return l
}

// about gives the half widths of a term about the likeliest value. One that was
// moved beyond its own width is taken to be as wide on the other side.
func (t Term) about() (low, high float64) {
	low, high = float64(t.Low+t.Shift), float64(t.High-t.Shift)
	if t.Low == 0 {
		low = math.Min(low, high)
	}
	if t.High == 0 {
		high = math.Min(low, high)
	}
	return math.Max(0, low), math.Max(0, high)
}

// less takes one part out of a root of squares.
func less(all, part float64) float64 { return math.Sqrt(math.Max(0, all*all-part*part)) }
