package trace

import "math"

// Cycle is a load cycle: its range and mean in newtons, and 1 or, for a half
// cycle, 0.5.
type Cycle struct {
	Range float64 `json:"range_N"`
	Mean  float64 `json:"mean_N"`
	Count float64 `json:"count"`
}

// Rainflow counts load cycles by the rainflow method of ASTM E1049-85,
// section 5.4.4 (its number from memory): the three-point rule, the first and the last sample counting
// as reversals, and what is left at the end as half cycles.
//
// It hands on each cycle as it closes and keeps only the reversals still
// open, so that its memory does not grow with the trace.
type Rainflow struct {
	gate  float64
	emit  func(Cycle)
	open  []float64
	last  float64
	slope int8 // of the last step: -1, 0 (no step yet) or 1
	begun bool
}

// NewRainflow makes a counter that calls emit for each cycle whose range is
// at least gate newtons.
func NewRainflow(gate float64, emit func(Cycle)) *Rainflow {
	if emit == nil {
		panic("trace: NewRainflow without a receiver of cycles")
	}
	return &Rainflow{gate: gate, emit: emit}
}

// Push takes the next forces.
func (r *Rainflow) Push(f []float64) {
	if len(f) > 0 && !r.begun {
		r.begun, r.last = true, f[0]
		r.open = append(r.open, f[0])
	}
	last, slope := r.last, r.slope
	for _, v := range f {
		switch {
		case v > last:
			if slope < 0 {
				r.reverse(last)
			}
			slope = 1
		case v < last:
			if slope > 0 {
				r.reverse(last)
			}
			slope = -1
		}
		last = v
	}
	r.last, r.slope = last, slope
}

// Close ends the trace: the last sample is a reversal, and the ranges still
// open are half cycles.
func (r *Rainflow) Close() {
	if r.slope != 0 {
		r.reverse(r.last)
	}
	for i := 1; i < len(r.open); i++ {
		r.count(r.open[i-1], r.open[i], 0.5)
	}
	*r = Rainflow{gate: r.gate, emit: r.emit}
}

// Open is the number of reversals that are held.
func (r *Rainflow) Open() int { return len(r.open) }

// reverse adds a reversal and closes what it closes: the standard's ranges X
// (the newest) and Y (the one before it).
func (r *Rainflow) reverse(v float64) {
	s := append(r.open, v)
	for len(s) >= 3 {
		n := len(s)
		x, y := math.Abs(s[n-1]-s[n-2]), math.Abs(s[n-2]-s[n-3])
		if x < y {
			break
		}
		if n == 3 {
			r.count(s[0], s[1], 0.5)
			s[0], s[1] = s[1], s[2]
			s = s[:2]
			continue
		}
		r.count(s[n-3], s[n-2], 1)
		s[n-3] = s[n-1]
		s = s[:n-2]
	}
	r.open = s
}

func (r *Rainflow) count(a, b, n float64) {
	if d := math.Abs(b - a); d >= r.gate {
		r.emit(Cycle{Range: d, Mean: (a + b) / 2, Count: n})
	}
}
