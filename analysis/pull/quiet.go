package pull

import (
	"math"
	"slices"
)

// quietLine follows the level and the noise of a line at rest, block by
// block: the median of the last blocks' means is the level, the median of
// their standard deviations the noise, and how far the means wander is added
// to the noise. The newest half second takes no part, so that a slow rise
// does not lift its own threshold.
type quietLine struct {
	size   int // samples in a block
	keep   int // blocks that count
	lag    int // newest blocks that do not yet
	blocks []block
	next   int // place in blocks of the next one
	filled int

	n          int
	first      float64
	sum, sumSq float64

	level float64
	sigma float64

	means, sds ranked // of the blocks that count
}

type block struct{ mean, sd float64 }

const (
	quietBlock  = 0.25 // seconds
	quietMemory = 6.0  // seconds
	quietLag    = 0.5  // seconds
)

// reset forgets everything but a first level and noise, for readings every
// step seconds.
func (q *quietLine) reset(step, level, sigma float64) {
	if !(step > 0) {
		step = 0.001
	}
	q.size = min(max(int(math.Round(quietBlock/step)), 8), 2048)
	span := float64(q.size) * step
	q.keep = min(max(int(quietMemory/span), 6), 60)
	q.lag = max(int(math.Ceil(quietLag/span)), 1)
	if need := q.keep + q.lag; cap(q.blocks) < need {
		q.blocks = make([]block, need)
	}
	q.blocks = q.blocks[:q.keep+q.lag]
	q.means, q.sds = q.means[:0], q.sds[:0]
	q.next, q.filled, q.n, q.sum, q.sumSq = 0, 0, 0, 0, 0
	q.level, q.sigma = level, sigma
}

// take adds quiet readings, no more than room allows, and says whether they
// filled a block.
func (q *quietLine) take(f []float64) bool {
	if q.n == 0 && len(f) > 0 {
		q.first = f[0]
	}
	sum, sq, first := q.sum, q.sumSq, q.first
	for _, v := range f {
		d := v - first
		sum += d
		sq += d * d
	}
	q.sum, q.sumSq = sum, sq
	if q.n += len(f); q.n < q.size {
		return false
	}
	mean := q.sum / float64(q.n)
	variance := (q.sumSq - q.sum*mean) / float64(q.n-1)
	q.add(block{q.first + mean, math.Sqrt(max(0, variance))})
	q.n, q.sum, q.sumSq = 0, 0, 0
	if q.filled < len(q.blocks) || q.next%2 == 0 {
		q.update() // one block more or less of so many changes little
	}
	return true
}

// room is the number of readings that still fit into the block.
func (q *quietLine) room() int { return q.size - q.n }

// add takes a block in the place of the oldest; the newest that no longer lags
// begins to count.
func (q *quietLine) add(b block) {
	n := len(q.blocks)
	if q.filled == n {
		q.means.drop(q.blocks[q.next].mean)
		q.sds.drop(q.blocks[q.next].sd)
	}
	q.blocks[q.next] = b
	q.next = (q.next + 1) % n
	q.filled = min(q.filled+1, n)
	if q.filled > q.lag {
		b = q.blocks[(q.next-1-q.lag+n)%n]
		q.means.add(b.mean)
		q.sds.add(b.sd)
	}
}

// update works out level and noise from the blocks that count.
func (q *quietLine) update() {
	if len(q.means) < 4 {
		return
	}
	level, noise := q.means.median(), q.sds.median()
	wander := 1.4826 * q.means.deviation(level)
	q.level = level
	q.sigma = math.Hypot(noise, math.Sqrt(max(0, wander*wander-noise*noise/float64(q.size))))
}

// ranked is a few values in order of size, of which the median is asked more
// often than they change.
type ranked []float64

func (r *ranked) add(v float64) {
	at, _ := slices.BinarySearch(*r, v)
	*r = slices.Insert(*r, at, v)
}

// drop takes out a value that was added.
func (r *ranked) drop(v float64) {
	at, _ := slices.BinarySearch(*r, v)
	*r = slices.Delete(*r, at, at+1)
}

// median is that of all; there must be some.
func (r ranked) median() float64 {
	n := len(r)
	if n%2 == 1 {
		return r[n/2]
	}
	return r[n/2-1] + (r[n/2]-r[n/2-1])/2
}

// deviation is the median of the distances from m: from m outward they are in
// order.
func (r ranked) deviation(m float64) float64 {
	above, _ := slices.BinarySearch(r, m)
	below := above - 1
	var lower, upper float64
	for range len(r)/2 + 1 {
		lower = upper
		if below < 0 || above < len(r) && r[above]-m < m-r[below] {
			upper = r[above] - m
			above++
		} else {
			upper = m - r[below]
			below--
		}
	}
	if len(r)%2 == 1 {
		return upper
	}
	return lower + (upper-lower)/2
}
