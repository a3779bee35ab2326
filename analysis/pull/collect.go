package pull

import "tautlog/analysis/trace"

// tally is what is added up over a pull. It is a plain value, so that the
// state at any moment can be kept by copying it.
type tally struct {
	n        int // samples
	spikes   int
	overload int
	voids    int
	gaps     []gap // the first maxGaps of them
	end      int64 // time of the last sample
	last     float64
	impulse  float64 // of the reading less the base, in newtons times seconds
	span     float64 // seconds that the impulse covers

	max        float64 // largest reading
	maxAt      int64
	maxIndex   int
	toMax      float64 // impulse up to the largest reading
	spanToMax  float64
	top        capture // readings around it
	overAtMax  bool
	smooth     float64 // largest of the filtered trace
	crests     [len(crestSizes)]crest
	slope      float64 // largest rise of the filtered trace, N/s
	through    int     // filtered samples
	lastSmooth float64
	lastKnown  bool

	equal    int     // readings in a row that are equal, up to the last
	topRun   int     // the most of them at the largest reading
	otherRun int     // and at any other value
	open     bool    // the trace ended inside the pull
	rawSlope float64 // largest rise between two readings, N/s
}

// crest is the block of readings with the largest mean, for one size of
// block: where noise decides which single reading is the largest, the top of
// the force may be elsewhere.
type crest struct {
	sum  float64
	n    int
	mean float64
	at   int // index of its middle
	seen bool
	top  capture
}

// crestSizes are the sizes of block, in readings.
var crestSizes = [...]int{5, 20, 80, 320}

// add counts reading i into its block.
func (k *crest) add(i int, v float64, size int) {
	k.sum += v
	if k.n++; k.n < size {
		return
	}
	if mean := k.sum / float64(size); !k.seen || mean > k.mean {
		k.mean, k.at, k.seen = mean, i-size/2, true
	}
	k.sum, k.n = 0, 0
}

// gap is a stretch without readings, from the last before it to the first
// behind it.
type gap struct{ from, to int64 }

const maxGaps = 64

// capture is a stretch of the trace at full resolution.
type capture struct {
	at     int // index of the sample that it was taken for; -1 none
	before int // samples before that one
	t      []int64
	f      []float64
}

// captureHalf is how many samples a capture holds on either side.
const captureHalf = 1024

// filtered counts filtered values.
func (t *tally) filtered(y []float64, rate float64) {
	for _, v := range y {
		if t.through == 0 || v > t.smooth {
			t.smooth = v
		}
		if t.lastKnown {
			t.slope = max(t.slope, (v-t.lastSmooth)*rate)
		}
		t.lastSmooth, t.lastKnown = v, true
		t.through++
	}
}

// collector gathers the samples of the pull going on.
type collector struct {
	tally
	start   int // index of the first sample
	startAt int64
	base    float64 // level that the impulse is counted from
	sieve   sieve
	line    *outline
}

// newCollector begins a pull at sample i, which is still in the window, for
// readings every step nanoseconds. Lead is the first sample not yet known. Its
// course goes into line: that of an earlier pull, which is forgotten.
func newCollector(w *window, line *outline, i, lead int, base, step float64, first int) *collector {
	c := &collector{start: i, startAt: w.time(i), base: base, sieve: newSieve(step), line: line.again()}
	c.top.at = -1
	for k := range c.crests {
		c.crests[k].top.at = -1
	}
	c.sieve.begin(w.forces(max(first, w.base), i), w.forces(i, lead))
	return c
}

// add takes sample i of the window.
func (c *collector) add(w *window, i int) {
	t, f, m := w.time(i), w.force(i), w.mark(i)
	switch {
	case c.n == 0:
	case m&gapBefore != 0:
		if len(c.gaps) < maxGaps {
			c.gaps = append(c.gaps[:len(c.gaps):len(c.gaps)], gap{c.end, t})
		}
		c.sieve.stop(c.tail(w, i), &c.tally)
	default:
		d := float64(t-c.end) / 1e9
		c.impulse += d * ((c.last+f)/2 - c.base)
		c.span += d
		if d > 0 {
			c.rawSlope = max(c.rawSlope, (f-c.last)/d)
		}
	}
	c.marks(m)
	c.repeats(f, c.base)
	if c.n == 0 || f > c.max {
		c.max, c.maxAt, c.maxIndex = f, t, i
		c.toMax, c.spanToMax = c.impulse, c.span
		c.overAtMax = m&trace.Overload != 0
	}
	c.n++
	c.end, c.last = t, f
	c.line.add(t, f)
	for k, size := range crestSizes {
		c.crests[k].add(i, f, size)
	}
	c.sieve.push(f, &c.tally)
	if i&255 == 0 {
		c.capture(w, i, captureHalf)
	}
}

// repeats counts readings in a row that are equal, in the upper half of the
// pull: f is about to be counted.
func (t *tally) repeats(f, base float64) {
	if t.n > 0 && f == t.last {
		t.equal++
	} else {
		t.equal = 1
	}
	switch {
	case t.n == 0:
		t.topRun = 1
	case f > t.max:
		t.otherRun, t.topRun = max(t.otherRun, t.topRun), 1
	case f == t.max:
		t.topRun = max(t.topRun, t.equal)
	case f-base > (t.max-base)/2:
		t.otherRun = max(t.otherRun, t.equal)
	}
}

// tail gives the samples of the pull just before i, back to the last gap, for
// the filter.
func (c *collector) tail(w *window, i int) []float64 {
	from := max(c.start, w.base, i-c.sieve.settle-1)
	for k := i - 1; k > from; k-- {
		if w.mark(k)&gapBefore != 0 {
			from = k
		}
	}
	return w.forces(from, i)
}

// capture copies the surroundings of the largest values once they are at
// least behind samples old, while the window still has them.
func (c *collector) capture(w *window, now, behind int) {
	if c.top.at != c.maxIndex && now-c.maxIndex >= behind {
		c.top = w.capture(c.maxIndex, now+1)
	}
	for k := range c.crests {
		if r := &c.crests[k]; r.seen && r.top.at != r.at && now-r.at >= behind {
			r.top = w.capture(r.at, now+1)
		}
	}
}

// capture copies the samples around i that come before end and are not cut
// off from it by a gap.
func (w *window) capture(i, end int) capture {
	from, to := max(i-captureHalf, w.base), min(i+captureHalf+1, end)
	for k := i; k > from; k-- {
		if w.mark(k)&gapBefore != 0 {
			from = k
		}
	}
	for k := i + 1; k < to; k++ {
		if w.mark(k)&gapBefore != 0 {
			to = k
		}
	}
	a, b := from-w.base, to-w.base
	return capture{at: i, before: i - from, t: append([]int64(nil), w.t[a:b]...), f: append([]float64(nil), w.f[a:b]...)}
}

// sum gives the tally as if the pull ended before sample now, with what the
// filter still holds.
func (c *collector) sum(w *window, now int) tally {
	kept := c.tally
	c.sieve.drain(c.tail(w, now), &c.tally)
	c.capture(w, now-1, 0)
	done := c.tally
	c.tally = kept
	return done
}

// marks counts what is known of a sample beside its force.
func (c *collector) marks(m trace.Mark) {
	if m == 0 {
		return
	}
	if m&trace.Overload != 0 {
		c.overload++
	}
	if m&voidBefore != 0 {
		c.voids++
	}
	if m&spikeRemade != 0 {
		c.spikes++
	}
}
