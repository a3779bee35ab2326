package pull

import (
	"math"

	"tautlog/analysis/trace"
)

// window holds the latest samples, column by column, with what is known of
// each. It keeps at least windowKeep samples before the next one to be looked
// at.
type window struct {
	t    []int64
	f    []float64
	m    []trace.Mark
	base int // index in the trace of the first sample held
}

const (
	windowKeep = 8192
	windowSize = 4 * windowKeep
	windowStep = 4096 // samples taken in at a time

	// What the finder notes beside the instrument's own marks.
	gapBefore   trace.Mark = 1 << 5 // readings are missing before this one
	voidBefore  trace.Mark = 1 << 6 // the instrument called readings before this one void
	spikeRemade trace.Mark = 1 << 7 // taken for electrical; now the mean of its neighbours

	// largestReading bounds what is taken for a force at all, in newtons.
	largestReading = 1e12
)

// sane says that a reading can be a force. NaN is not.
func sane(v float64) bool { return v < largestReading && v > -largestReading }

// room makes sure that n more samples fit, forgetting the oldest but never
// one less than windowKeep before at.
func (w *window) room(n, at int) {
	if w.t == nil {
		w.t = make([]int64, 0, windowSize)
		w.f = make([]float64, 0, windowSize)
		w.m = make([]trace.Mark, 0, windowSize)
	}
	if len(w.t)+n <= cap(w.t) {
		return
	}
	cut := max(0, at-w.base-windowKeep)
	keep := copy(w.t, w.t[cut:])
	copy(w.f, w.f[cut:])
	copy(w.m, w.m[cut:])
	w.t, w.f, w.m, w.base = w.t[:keep], w.f[:keep], w.m[:keep], w.base+cut
}

// add takes a stretch of samples; marks may be nil.
func (w *window) add(b trace.Batch) {
	w.t = append(w.t, b.T...)
	w.f = append(w.f, b.F...)
	n := len(w.m)
	w.m = w.m[:n+len(b.T)]
	if b.Marks == nil {
		clear(w.m[n:])
		return
	}
	const theirs = trace.Overload | trace.Invalid | trace.Lost
	for i, m := range b.Marks {
		if m &= theirs; m&trace.Lost != 0 {
			m |= gapBefore
		}
		w.m[n+i] = m
	}
}

// end is the index in the trace behind the last sample held.
func (w *window) end() int { return w.base + len(w.t) }

// time, force and mark give a sample by its index in the trace.
func (w *window) time(i int) int64      { return w.t[i-w.base] }
func (w *window) force(i int) float64   { return w.f[i-w.base] }
func (w *window) mark(i int) trace.Mark { return w.m[i-w.base] }

// forces gives the samples from i up to j.
func (w *window) forces(i, j int) []float64 { return w.f[i-w.base : j-w.base] }

// spiky says whether sample i stands alone between its neighbours: an
// electrical spike, or a single lost bit, not a force. It needs i-1, i+1 and
// is the better for i-2 and i+2. Level is that of the line at rest.
//
// A force on a line that is sampled well enough to have a shape changes from
// one reading to the next about as much as it did before and will after. A
// spike leaves the line and comes back within one reading, by far more than
// the readings around it change among themselves.
func (w *window) spiky(i int, level, noise, step float64) (bool, float64) {
	k := i - w.base
	if k < 1 || k+1 >= len(w.f) || w.m[k]&(gapBefore|trace.Overload) != 0 || w.m[k+1]&gapBefore != 0 {
		return false, 0
	}
	a, v, b := w.f[k-1], w.f[k], w.f[k+1]
	excess := v - max(a, b)
	if low := min(a, b) - v; low > excess {
		excess = low
	}
	if excess <= 0 {
		return false, 0
	}
	around := math.Abs(b - a)
	if k >= 2 {
		around = max(around, math.Abs(a-w.f[k-2]))
	}
	if k+2 < len(w.f) {
		around = max(around, math.Abs(w.f[k+2]-b))
	}
	limit := 5*around + 8*noise + 2*step + 0.002*math.Abs(v-level)
	if noise == 0 {
		limit += 0.02 * math.Abs(v-level) // the noise may merely be unknown
	}
	return excess > limit, (a + b) / 2
}
