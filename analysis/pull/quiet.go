package pull

import (
	"math"

	"tautlog/analysis/trace"
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

	scratch []float64
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
		q.scratch = make([]float64, need)
	}
	q.blocks = q.blocks[:q.keep+q.lag]
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
	q.blocks[q.next] = block{q.first + mean, math.Sqrt(max(0, variance))}
	q.next = (q.next + 1) % len(q.blocks)
	q.filled = min(q.filled+1, len(q.blocks))
	q.n, q.sum, q.sumSq = 0, 0, 0
	if q.filled < len(q.blocks) || q.next%2 == 0 {
		q.update() // one block more or less of so many changes little
	}
	return true
}

// room is the number of readings that still fit into the block.
func (q *quietLine) room() int { return q.size - q.n }

// update works out level and noise from the blocks that count.
func (q *quietLine) update() {
	n := q.filled - q.lag
	if n < 4 {
		return
	}
	oldest := q.next - q.filled + len(q.blocks)
	x := q.scratch[:n]
	for i := range x {
		x[i] = q.blocks[(oldest+i)%len(q.blocks)].mean
	}
	level := trace.Median(x)
	for i, v := range x {
		x[i] = math.Abs(v - level)
	}
	wander := 1.4826 * trace.Median(x)
	for i := range x {
		x[i] = q.blocks[(oldest+i)%len(q.blocks)].sd
	}
	noise := trace.Median(x)
	q.level = level
	q.sigma = math.Hypot(noise, math.Sqrt(max(0, wander*wander-noise*noise/float64(q.size))))
}
