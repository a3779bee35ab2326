package record

import (
	"math"
	"slices"
)

// envelope maps an instrument's own time to the host's, from when readings
// arrived. Buffers, drivers and schedulers only ever delay, so the earliest
// arrivals carry the truth: the map is the straight line on which no arrival
// lies below, and to which they lie nearest on the whole. That is the linear
// programme of Zhang, Liu and Xia, "Clock synchronization algorithms for
// network measurements" (IEEE INFOCOM 2002), with a mild preference for the
// rate that is expected, so that a short record does not invent a skew.
//
// The constant part of the delay cannot be seen from arrivals and stays in
// the times.
type envelope struct {
	usual float64 // skew that surprises nobody, as a fraction
	limit float64 // no skew beyond this
	span  int64   // ns of instrument time that are remembered

	ox, oz int64 // origin of the points, for the sake of float precision
	points []early
	hull   []early // those points that a line can touch from below
	center float64 // skew that is expected

	// The line: host time = x + oz + offset + skew·(x-ox).
	skew, offset float64
}

// early is the earliest arrival of a short stretch of instrument time.
type early struct {
	slot int64
	x, z float64 // instrument time, and host time less instrument time
}

const (
	slots    = 240           // into which the span is cut
	minScale = float64(50e3) // ns; no host stamps an arrival better than this
	finest   = float64(1e3)  // ns; what is earlier by less teaches nothing
	// skewDrift is how far the skew may be off, or change, as a fraction.
	skewDrift = 3e-6
)

func newEnvelope(usual, limit float64, span int64) envelope {
	return envelope{usual: usual, limit: limit, span: span}
}

// empty says that nothing has arrived since the last reset.
func (e *envelope) empty() bool { return len(e.points) == 0 }

// reset forgets the offset between the two times, as after the instrument was
// started again, but not how fast its clock runs.
func (e *envelope) reset() { e.points = e.points[:0] }

// add takes an arrival: what the instrument says was at x arrived at host
// time at.
func (e *envelope) add(x, at int64) {
	if e.empty() {
		e.ox, e.oz = x, at-x
		e.skew, e.offset = e.center, 0
	}
	p := early{slot: (x - e.ox) * slots / e.span, x: float64(x - e.ox), z: float64(at - x - e.oz)}
	last := len(e.points) - 1
	if last >= 0 && p.slot-e.points[last].slot >= slots {
		e.bridge(p)
		last = 0
	}
	switch {
	case last < 0 || e.points[last].slot < p.slot:
		e.points = append(e.points, p)
	case e.points[last].slot == p.slot && p.z-e.skew*p.x < e.points[last].z-e.skew*e.points[last].x-finest:
		e.points[last] = p
	default:
		return
	}
	e.forget(p.slot - slots)
	e.fit()
}

// forgetLate drops what lies more than that above the earliest arrival. It is
// for the beginning, when a few points decide.
func (e *envelope) forgetLate(ns float64) {
	lowest := math.Inf(1)
	for _, p := range e.points {
		lowest = min(lowest, p.z-e.center*p.x)
	}
	e.points = slices.DeleteFunc(e.points, func(p early) bool { return p.z-e.center*p.x > lowest+ns })
	if !e.empty() {
		e.fit()
	}
}

// bridge puts the line as it was in the place of the points, where none came
// for longer than they are remembered. It is put a little late, for what the
// skew may have been off by: a point that is early holds the line down, one
// that is late does nothing.
func (e *envelope) bridge(next early) {
	away := next.x - e.points[len(e.points)-1].x
	z := e.offset + e.skew*next.x + away*skewDrift
	e.points = append(e.points[:0], early{slot: next.slot - 1, x: next.x, z: z})
}

// forget drops the points up to and including a slot.
func (e *envelope) forget(slot int64) {
	n := 0
	for n < len(e.points) && e.points[n].slot <= slot {
		n++
	}
	e.points = append(e.points[:0], e.points[n:]...)
}

// fit finds the line, first without regard to the expected skew, to see how
// far points lie from a line, then with it.
func (e *envelope) fit() {
	n := float64(len(e.points))
	e.enclose()
	e.skew = e.center
	if n > 2 {
		e.skew = e.best(minScale, 0)
		_, e.offset = e.lowest(e.skew)
		scale := max(e.distance()/(n-2), minScale)
		e.skew = e.best(scale, 1/e.usual)
	}
	_, e.offset = e.lowest(e.skew)
	if e.points[len(e.points)-1].x-e.points[0].x > float64(e.span)/2 {
		e.center = e.skew
	}
}

// enclose finds the lower convex hull of the points, which are in order of x
// (Andrew's monotone chain).
func (e *envelope) enclose() {
	h := e.hull[:0]
	for _, p := range e.points {
		for len(h) > 1 && !below(h[len(h)-1], h[len(h)-2], p) {
			h = h[:len(h)-1]
		}
		h = append(h, p)
	}
	e.hull = h
}

// below says that p lies below the line from a to b.
func below(p, a, b early) bool { return (p.z-a.z)*(b.x-a.x) < (b.z-a.z)*(p.x-a.x) }

// best is the skew with the least sum of distances, in units of scale, and of
// preference for the expected skew. For a given skew the highest line that no
// point lies below touches one point; the sum of the distances to it falls
// with the skew as long as that point lies left of the mean, so that
// bisection finds the best skew.
func (e *envelope) best(scale, preference float64) float64 {
	var mean float64
	for _, p := range e.points {
		mean += p.x
	}
	n := float64(len(e.points))
	mean /= n
	lo, hi := -e.limit, e.limit
	for range 32 {
		m := (lo + hi) / 2
		x, _ := e.lowest(m)
		if n*(x-mean)/scale+math.Copysign(preference, m-e.center) > 0 {
			hi = m
		} else {
			lo = m
		}
	}
	return (lo + hi) / 2
}

// distance is the sum of the distances of the points from the line.
func (e *envelope) distance() (sum float64) {
	for _, p := range e.points {
		sum += p.z - e.offset - e.skew*p.x
	}
	return sum
}

// lowest is where a line of that skew touches the points from below: at which
// x, and the line's height at the origin.
func (e *envelope) lowest(skew float64) (x, offset float64) {
	offset = math.Inf(1)
	for _, p := range e.hull {
		if z := p.z - skew*p.x; z < offset {
			x, offset = p.x, z
		}
	}
	return x, offset
}

// at is the host time of instrument time x.
func (e *envelope) at(x int64) int64 {
	return x + e.oz + int64(e.offset+e.skew*float64(x-e.ox))
}
