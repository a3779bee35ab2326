package trace

import (
	"math"
	"slices"
)

// Level is a quiet stretch of a trace, measured so that a few wild readings
// do not matter.
type Level struct {
	Median float64
	Mean   float64 // of the readings within three standard deviations of the median
	Sigma  float64 // standard deviation of the noise
	Step   float64 // smallest difference seen between two readings; 0 where all are equal
	N      int
}

// Leveller measures quiet stretches. It takes up its memory again; the zero
// value is ready.
type Leveller struct{ x, off []float64 }

// Measure measures a quiet stretch.
//
// The spread is the median absolute deviation times 1.4826, its ratio to the
// standard deviation of a normal distribution (Huber, Robust Statistics,
// 1981, section 5.1, from memory); it only decides which readings take part in the mean
// and the standard deviation, both of which see past the rounding of the
// readings where the median does not. Where more than half of the readings
// are equal, the rounding step takes the place of the spread.
func (r *Leveller) Measure(stretch []float64) Level {
	l := Level{N: len(stretch)}
	if len(stretch) == 0 {
		return l
	}
	r.x = append(r.x[:0], stretch...)
	x := r.x
	l.Median = Median(x)
	var deviation float64
	deviation, l.Step = r.deviation(l.Median)
	spread := math.Max(1.4826*deviation, l.Step)
	var n, sum, squares float64
	for _, v := range x {
		if d := v - l.Median; math.Abs(d) <= 3*spread {
			n++
			sum += d
			squares += d * d
		}
	}
	mean := sum / n
	l.Mean = l.Median + mean
	if n > 1 {
		// A normal distribution cut at three standard deviations has 0.9866
		// of the full one.
		l.Sigma = math.Sqrt(math.Max(0, squares-sum*mean)/(n-1)) / 0.9866
	}
	return l
}

// deviation is the median absolute deviation from m, and the smallest that is
// not none.
func (r *Leveller) deviation(m float64) (median, step float64) {
	r.off = slices.Grow(r.off[:0], len(r.x))[:len(r.x)]
	step = math.Inf(1)
	for i, v := range r.x {
		d := math.Abs(v - m)
		r.off[i] = d
		if d > 0 && d < step {
			step = d
		}
	}
	if math.IsInf(step, 1) {
		step = 0
	}
	return Median(r.off), step
}

// Median is the middle value of x, or the mean of the two middle ones; 0 for
// an empty x. It reorders x.
func Median(x []float64) float64 {
	n := len(x)
	if n == 0 {
		return 0
	}
	upper := Select(x, n/2)
	if n%2 == 1 {
		return upper
	}
	lower := x[0]
	for _, v := range x[1 : n/2] {
		lower = max(lower, v)
	}
	return lower + (upper-lower)/2
}

// Select is the value that would stand at index k were x sorted. It reorders
// x so that nothing before k is larger and nothing behind k smaller (Hoare,
// Algorithm 65, Communications of the ACM 4, 1961), after it has taken off,
// where there are many, what a sample tells to be too small or too large
// (Floyd and Rivest, Algorithm 489, Communications of the ACM 18, 1975;
// both from memory).
func Select(x []float64, k int) float64 {
	lo, hi := 0, len(x)-1
	for hi-lo > selectFew {
		a, b := narrow(x[lo:hi+1], k-lo)
		if b-a == hi-lo {
			break
		}
		lo, hi = lo+a, lo+b
	}
	for lo < hi {
		pivot := x[lo+(hi-lo)/2]
		i, j := lo, hi
		for i <= j {
			for x[i] < pivot {
				i++
			}
			for x[j] > pivot {
				j--
			}
			if i <= j {
				x[i], x[j] = x[j], x[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			hi = j
		case k >= i:
			lo = i
		default:
			return x[k]
		}
	}
	return x[k]
}

const (
	selectFew    = 192 // values from which on a sample pays
	selectSample = 64
	selectMargin = 8 // places in the sample: two standard deviations of the middle one's
)

// narrow reorders x around two values of a sample of it, which index k most
// likely lies between, and gives the first and the last index of the part that k
// is in: what is before it is not larger, what is behind it not smaller.
func narrow(x []float64, k int) (first, last int) {
	var sample [selectSample]float64
	for i := range sample {
		sample[i] = x[i*len(x)/selectSample]
	}
	slices.Sort(sample[:])
	at := k * selectSample / len(x)
	upper := part(x, sample[min(at+selectMargin, selectSample-1)])
	if k >= upper {
		return upper, len(x) - 1
	}
	lower := part(x[:upper], math.Nextafter(sample[max(at-selectMargin, 0)], math.Inf(-1)))
	if k < lower {
		return 0, lower - 1
	}
	return lower, upper - 1
}

// part moves the values up to limit to the front and counts them. It does not
// branch on them: of values in no order every second branch would be guessed
// wrong.
func part(x []float64, limit float64) (n int) {
	for i, v := range x {
		x[i] = x[n]
		x[n] = v
		step := 0
		if v <= limit {
			step = 1
		}
		n += step
	}
	return n
}
