package trace

import "math"

// LoadTime adds up how long the force stood in each class of load, for how
// much of an hour's tow was hard work. Its memory does not grow with the trace.
//
// Between two readings the force is taken to go straight from one to the
// other, so that the classes of a steep rise get their share although no
// reading fell into them. A gap counts nowhere but in its own sum.
type LoadTime struct {
	width float64
	pace  *Pace
	class map[int]float64 // seconds, by the number of widths from zero, rounded down
	gaps  float64
	last  int64
	force float64
	begun bool
}

// LoadClass is one class: how long the force was at or above From and below To.
type LoadClass struct {
	From    float64 `json:"from_N"`
	To      float64 `json:"to_N"`
	Seconds float64 `json:"seconds"`
}

// mostClasses bounds the classes that one straight line may be spread over: a
// width far too fine for the force does not make the count endless.
const mostClasses = 10_000

// NewLoadTime makes a histogram with classes of width newtons; nominalRate as
// for NewPace. A width that is not above zero is a programmer's mistake.
func NewLoadTime(width, nominalRate float64) *LoadTime {
	if !(width > 0) {
		panic("trace: NewLoadTime without a width")
	}
	return &LoadTime{width: width, pace: NewPace(nominalRate), class: map[int]float64{}}
}

// Push takes the next samples. Readings that the instrument called invalid are
// passed over.
func (h *LoadTime) Push(b Batch) {
	for i, t := range b.T {
		var m Mark
		if b.Marks != nil {
			m = b.Marks[i]
		}
		if m&Invalid == 0 && !math.IsNaN(b.F[i]) {
			h.add(t, b.F[i], m&Lost != 0)
		}
	}
}

func (h *LoadTime) add(t int64, f float64, lost bool) {
	if h.begun {
		d := t - h.last
		h.pace.Add(d)
		if seconds := float64(d) / 1e9; lost || d > h.pace.Limit() {
			h.gaps += seconds
		} else {
			h.spread(h.force, f, seconds)
		}
	}
	h.begun, h.last, h.force = true, t, f
}

// spread shares out seconds over the classes between two forces.
func (h *LoadTime) spread(a, b, seconds float64) {
	a, b = min(a, b)/h.width, max(a, b)/h.width
	low, high := math.Floor(a), math.Floor(b)
	if low == high || high-low > mostClasses {
		h.class[int((low+high)/2)] += seconds
		return
	}
	for k := low; k <= high; k++ {
		h.class[int(k)] += seconds * ((min(b, k+1) - max(a, k)) / (b - a))
	}
}

// Classes gives the classes from the lowest to the highest that was reached,
// the empty ones between them too, and the seconds of the gaps.
func (h *LoadTime) Classes() (classes []LoadClass, gaps float64) {
	low, high := math.MaxInt, math.MinInt
	for k := range h.class {
		low, high = min(low, k), max(high, k)
	}
	for k := low; k <= high && len(classes) < mostClasses; k++ {
		classes = append(classes, LoadClass{From: float64(k) * h.width, To: float64(k+1) * h.width, Seconds: h.class[k]})
	}
	return classes, h.gaps
}
