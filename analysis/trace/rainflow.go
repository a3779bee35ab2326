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
	slope int // of the last step: 1 up, 2 down; 0: there was none
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

// turnsAtOnce is how many forces are looked through before their reversals are
// counted.
const turnsAtOnce = 512

// Push takes the next forces.
func (r *Rainflow) Push(f []float64) {
	if len(f) > 0 && !r.begun {
		r.begun, r.last = true, f[0]
		r.open = append(r.open, f[0])
	}
	var turns [turnsAtOnce]float64
	for len(f) > 0 {
		n := min(len(f), turnsAtOnce)
		r.reverse(turns[:r.turns(f[:n], &turns)])
		f = f[n:]
	}
}

// turns finds the reversals that the forces f show, no more than there are
// forces. It does not branch on which way they go: in noise every second branch
// would be guessed wrong.
func (r *Rainflow) turns(f []float64, turns *[turnsAtOnce]float64) (n int) {
	last, slope := r.last, r.slope
	for _, v := range f {
		up, down := 0, 0
		if v > last {
			up = 1
		}
		if v < last {
			down = 1
		}
		if up != down {
			turns[n&(turnsAtOnce-1)] = last
			n += slope >> up & 1
			slope = 2 - up
		}
		last = v
	}
	r.last, r.slope = last, slope
	return n
}

// Close ends the trace: the last sample is a reversal, and the ranges still
// open are half cycles.
func (r *Rainflow) Close() {
	if r.slope != 0 {
		r.reverse([]float64{r.last})
	}
	for i := 1; i < len(r.open); i++ {
		r.count(r.open[i-1], r.open[i], 0.5)
	}
	*r = Rainflow{gate: r.gate, emit: r.emit}
}

// reverse adds reversals and closes what they close: the standard's ranges X
// (the newest) and Y (the one before it).
func (r *Rainflow) reverse(turns []float64) {
	s := r.open
	for _, v := range turns {
		s = append(s, v)
		for n := len(s); n >= 3; n = len(s) {
			before, begin := s[n-2], s[n-3]
			if math.Abs(v-before) < math.Abs(before-begin) {
				break
			}
			if n == 3 {
				r.count(begin, before, 0.5)
				s[0], s[1] = before, v
				s = s[:2]
				continue
			}
			r.count(begin, before, 1)
			s[n-3] = v
			s = s[:n-2]
		}
	}
	r.open = s
}

func (r *Rainflow) count(a, b, n float64) {
	if d := math.Abs(b - a); d >= r.gate {
		r.emit(Cycle{Range: d, Mean: (a + b) / 2, Count: n})
	}
}
