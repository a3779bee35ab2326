package trace

import (
	"math"
	"slices"
)

// Calmer hands readings on for what counts loads, without lone electrical
// spikes: each is replaced by the mean of its neighbours. Readings that the
// instrument called void are left out. It judges by the readings around alone,
// so that a live line and a file, however they are split, come out the same.
//
// A load cycle that is left out makes an item's past look lighter than it was,
// so that a reading has to stand out far more here than where a peak is found:
// from the changes beside it and from most of those on both sides. Where
// readings are further apart than a reading of a jerk may be, none is left out.
type Calmer struct {
	out     func(Batch)
	held    Batch     // marks always there
	next    int       // first reading that was not handed on
	changes []float64 // for use
}

const (
	calmAround = 16   // readings on either side that tell how rough the line is
	calmLeast  = 3    // and how many have to be there
	calmApart  = 25e6 // ns: readings further apart may be a short pull each; as in the search for pulls
	calmBeside = 5    // times the changes beside it
	calmMost   = 6    // times what three quarters of the changes on a side are below
)

// NewCalmer makes one that hands on to out; what it is given there is only
// good until out returns.
func NewCalmer(out func(Batch)) *Calmer { return &Calmer{out: out} }

// Push takes the next readings and hands on those that are decided, all but the
// latest few.
func (c *Calmer) Push(b Batch) {
	const most = 1 << 12
	for from := 0; from < b.Len(); from += most {
		c.take(b.Slice(from, min(b.Len(), from+most)))
		c.decide(c.held.Len() - calmAround)
	}
}

// Close hands on what is held; readings may follow as behind a gap.
func (c *Calmer) Close() { c.decide(c.held.Len()); c.held, c.next = Batch{}, 0 }

// take holds the readings that mean something.
func (c *Calmer) take(b Batch) {
	if cut := c.next - 2*calmAround; cut > 0 {
		c.held.T, c.held.F, c.held.Marks = slices.Delete(c.held.T, 0, cut), slices.Delete(c.held.F, 0, cut), slices.Delete(c.held.Marks, 0, cut)
		c.next -= cut
	}
	if b.Marks == nil && !slices.ContainsFunc(b.F, math.IsNaN) {
		n := c.held.Len()
		c.held.T, c.held.F = append(c.held.T, b.T...), append(c.held.F, b.F...)
		c.held.Marks = slices.Grow(c.held.Marks, b.Len())[:n+b.Len()]
		clear(c.held.Marks[n:])
		return
	}
	for i, t := range b.T {
		var m Mark
		if b.Marks != nil {
			m = b.Marks[i]
		}
		if m&Invalid != 0 || math.IsNaN(b.F[i]) {
			continue
		}
		c.held.T, c.held.F, c.held.Marks = append(c.held.T, t), append(c.held.F, b.F[i]), append(c.held.Marks, m)
	}
}

// decide hands on the readings before end, and all where the latest are too far
// apart for any to be left out.
func (c *Calmer) decide(end int) {
	h := &c.held
	if n := h.Len(); n >= 2 && h.T[n-1]-h.T[n-2] > calmApart {
		end = n
	}
	if end <= c.next {
		return
	}
	for i := max(1, c.next); i < min(end, h.Len()-1); i++ {
		// What lone asks first, but quicker to say no: of most readings that is all.
		if a := h.F[i-1]; math.Abs(h.F[i]-a) > calmBeside*math.Abs(h.F[i+1]-a) && c.lone(i) {
			h.F[i] = (a + h.F[i+1]) / 2
		}
	}
	c.out(h.Slice(c.next, end))
	c.next = end
}

// lone says whether reading i stands alone.
func (c *Calmer) lone(i int) bool {
	h := &c.held
	a, v, b := h.F[i-1], h.F[i], h.F[i+1]
	out := max(v-max(a, b), min(a, b)-v)
	if !(out > calmBeside*math.Abs(b-a)) || h.Marks[i]&(Overload|Lost) != 0 || h.Marks[i+1]&Lost != 0 {
		return false
	}
	if i < calmLeast || i+calmLeast >= h.Len() {
		return false
	}
	if beside := max(math.Abs(a-h.F[i-2]), math.Abs(h.F[i+2]-b)); !(out > calmBeside*beside) {
		return false
	}
	before, behind := c.around(i)
	if len(before) < calmLeast || len(behind) < calmLeast {
		return false
	}
	return out > calmMost*max(c.rough(before), c.rough(behind))
}

// around gives the readings on either side of i, none from across a gap.
func (c *Calmer) around(i int) (before, behind []float64) {
	h, from, to := &c.held, i, i+1
	for from > max(0, i-calmAround) && h.T[from]-h.T[from-1] <= calmApart {
		from--
	}
	for to < min(h.Len(), i+1+calmAround) && h.T[to]-h.T[to-1] <= calmApart {
		to++
	}
	return h.F[from:i], h.F[i+1 : to]
}

// rough is what three quarters of the changes from reading to reading are below.
func (c *Calmer) rough(f []float64) float64 {
	c.changes = c.changes[:0]
	for i := 1; i < len(f); i++ {
		c.changes = append(c.changes, math.Abs(f[i]-f[i-1]))
	}
	slices.Sort(c.changes)
	return c.changes[len(c.changes)*3/4]
}
