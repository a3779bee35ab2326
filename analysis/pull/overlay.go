package pull

import (
	"math"
	"slices"

	"tautlog/analysis/trace"
	"tautlog/calc/unit"
)

// Curve is the course of one pull, for laying it over others: forces at even
// steps from a time on, in seconds from the moment at which it is aligned. The
// zero is taken off. It is smoothed to what its step can show
// (trace.Decimate), so that the peak is to be taken from the pull.
type Curve struct {
	From  float64
	Step  float64
	Force []unit.Force
}

// Overlay collects the courses of some pulls from their trace.
type Overlay struct {
	align  Align
	points int
	pulls  []Pull
	taken  []trace.Batch
}

const (
	overlayBefore = 1.0  // seconds shown before a pull and behind it
	overlayMost   = 60.0 // seconds shown at most on either side of the moment of alignment
	overlaySize   = 1 << 20
)

// NewOverlay makes an Overlay of pulls, each of about so many points.
func NewOverlay(pulls []Pull, align Align, points int) *Overlay {
	return &Overlay{align: align, points: max(2, points), pulls: pulls, taken: make([]trace.Batch, len(pulls))}
}

// Push takes the next samples of the trace. Of a pull that is long it keeps
// the minute around the moment of alignment.
func (o *Overlay) Push(b trace.Batch) {
	for k := range o.pulls {
		from, to := o.span(k)
		i, _ := slices.BinarySearch(b.T, from)
		j, _ := slices.BinarySearch(b.T, to+1)
		for ; i < j && len(o.taken[k].T) < overlaySize; i++ {
			if (b.Marks == nil || b.Marks[i]&trace.Invalid == 0) && sane(b.F[i]) {
				o.taken[k].T = append(o.taken[k].T, b.T[i])
				o.taken[k].F = append(o.taken[k].F, b.F[i])
			}
		}
	}
}

// span is the stretch of time that is shown of a pull.
func (o *Overlay) span(k int) (from, to int64) {
	p := o.pulls[k]
	at, before, most := p.Origin(o.align), int64(overlayBefore*1e9), int64(overlayMost*1e9)
	return max(p.Start-before, at-most), min(p.End+before, at+most)
}

// Curves gives the courses, in the order of the pulls.
func (o *Overlay) Curves() []Curve {
	all := make([]Curve, len(o.pulls))
	for k, p := range o.pulls {
		all[k] = curveOf(o.taken[k], float64(p.Zero), p.Origin(o.align), o.points)
	}
	return all
}

// curveOf lays the readings on their even step, straight lines taken over
// what is missing, and thins them.
func curveOf(b trace.Batch, zero float64, origin int64, points int) Curve {
	n := b.Len()
	if n < 2 {
		return Curve{Force: []unit.Force{}}
	}
	steps := make([]float64, n-1)
	for i := range steps {
		steps[i] = float64(b.T[i+1] - b.T[i])
	}
	step := trace.Median(steps)
	even := make([]float64, 0, n)
	for i, x := 0, 0.0; x <= float64(b.T[n-1]-b.T[0])*(1+1e-9) && len(even) < overlaySize; x += step {
		for i+2 < n && float64(b.T[i+1]-b.T[0]) < x {
			i++
		}
		share := (x - float64(b.T[i]-b.T[0])) / float64(b.T[i+1]-b.T[i])
		even = append(even, b.F[i]+math.Min(1, share)*(b.F[i+1]-b.F[i])-zero)
	}
	q := (len(even) + points - 1) / points
	c := Curve{From: float64(b.T[0]-origin) / 1e9, Step: float64(q) * step / 1e9}
	for _, v := range trace.Decimate(even, q) {
		c.Force = append(c.Force, unit.Force(v))
	}
	return c
}
