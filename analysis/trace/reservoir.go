package trace

import "math"

// Reservoir counts load cycles for a line that is still being read: at any
// moment it gives the cycles of all that has come, with nothing left open, and
// it may go on. It counts by the reservoir method (BS 5400-10, appendix B),
// which sees the history as one that is repeated and so has whole cycles only:
// the standing largest range is one cycle, where Rainflow has halves.
//
// A reversal smaller than the gate is passed over, and ranges that differ by no
// more than the gate are taken for equal where they would have to be held for a
// later one. With a gate above zero the reversals that are held are therefore
// about twice the span of the force over the gate at most, for however long the
// line is read. A range is out by the gate at most, the largest not at all.
type Reservoir struct {
	gate   float64
	emit   func(Cycle)
	open   []float64 // reversals whose ranges grow and then shrink
	turn   float64   // the furthest reading since the last reversal
	rising bool
	begun  bool
	known  bool    // whether it rises is known
	low    float64 // the extremes before that
	high   float64
}

// NewReservoir makes a counter that passes over reversals smaller than gate
// newtons and calls emit for each cycle that can no longer change.
func NewReservoir(gate float64, emit func(Cycle)) *Reservoir {
	if emit == nil {
		panic("trace: NewReservoir without a receiver of cycles")
	}
	return &Reservoir{gate: gate, emit: emit}
}

// Push takes the next forces.
func (r *Reservoir) Push(f []float64) {
	for _, v := range f {
		switch {
		case !r.begun:
			r.begun, r.low, r.high = true, v, v
			r.open = append(r.open, v)
		case !r.known:
			r.first(v)
		case r.rising == (v > r.turn) && v != r.turn:
			r.turn = v
		case v != r.turn && math.Abs(v-r.turn) >= r.gate:
			r.reverse(r.turn)
			r.rising, r.turn = !r.rising, v
		}
	}
}

// first waits for the force to have moved by the gate; the history begins with
// the extreme that it came from.
func (r *Reservoir) first(v float64) {
	switch r.low, r.high = min(r.low, v), max(r.high, v); {
	case v > r.low && v-r.low >= r.gate:
		r.known, r.rising, r.turn, r.open[0] = true, true, v, r.low
	case v < r.high && r.high-v >= r.gate:
		r.known, r.rising, r.turn, r.open[0] = true, false, v, r.high
	}
}

// reverse adds a reversal and closes what it closes.
func (r *Reservoir) reverse(v float64) { r.open = closeInner(append(r.open, v), r.gate, r.emit) }

// closeInner takes out the cycles at the end of a list of reversals that lie
// between two ranges that are no smaller (the four-point rule of Amzallag and
// others, International Journal of Fatigue 16, 1994, from memory). Where ranges grow or
// shrink by no more than alike, the smaller one is a cycle and the reversals
// further out stay, so that nothing adds up.
func closeInner(s []float64, alike float64, emit func(Cycle)) []float64 {
	for n := len(s); n >= 4; n = len(s) {
		z, y, x := math.Abs(s[n-3]-s[n-4]), math.Abs(s[n-2]-s[n-3]), math.Abs(s[n-1]-s[n-2])
		switch {
		case y <= z && y <= x:
			emit(whole(s[n-3], s[n-2]))
			s[n-3] = s[n-1]
		case y <= z && y-x <= alike: // shrinking
			emit(whole(s[n-2], s[n-1]))
		case y <= x && y-z <= alike: // growing
			emit(whole(s[n-4], s[n-3]))
			s[n-4], s[n-3] = s[n-2], s[n-1]
		default:
			return s
		}
		s = s[:n-2]
	}
	return s
}

func whole(a, b float64) Cycle { return Cycle{Range: math.Abs(b - a), Mean: (a + b) / 2, Count: 1} }

// Open hands on the cycles that are not closed yet, as they would be counted
// if the line were read no further: the reversals that are held, turned to
// begin and end at their largest.
func (r *Reservoir) Open(emit func(Cycle)) {
	held := r.open
	if r.known {
		held = append(held[:len(held):len(held)], r.turn)
	}
	if len(held) < 2 {
		return
	}
	s := make([]float64, 0, len(held)+1)
	for _, v := range turned(held) {
		s = closeInner(push(s, v), 0, emit)
	}
	// What is left rises and falls between the largest and the smallest, with
	// the largest at both ends.
	for ; len(s) >= 3; s = s[:len(s)-2] {
		n := len(s)
		emit(whole(s[n-2], min(s[n-1], s[n-3])))
	}
}

// turned gives the values in their order from the largest on, round to it
// again.
func turned(x []float64) []float64 {
	top := 0
	for i, v := range x {
		if v > x[top] {
			top = i
		}
	}
	out := append([]float64(nil), x[top:]...)
	return append(append(out, x[:top]...), x[top])
}

// push adds a value to a list of reversals; one between its neighbours is no
// reversal.
func push(s []float64, v float64) []float64 {
	n := len(s)
	switch {
	case n > 0 && s[n-1] == v:
		return s
	case n > 1 && (s[n-1] > s[n-2]) == (v > s[n-1]):
		s[n-1] = v
		return s
	}
	return append(s, v)
}

// Held is the number of reversals that are held.
func (r *Reservoir) Held() int { return len(r.open) }
