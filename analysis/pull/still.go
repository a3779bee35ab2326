package pull

import (
	"math"

	"tautlog/analysis/trace"
)

// still is a stretch of a line at rest, as measured.
type still struct {
	trace.Level
	se float64 // standard error of the mean
	at int64   // its middle, in ns
}

// still measures the readings from i up to j.
func (f *Finder) still(i, j int) still {
	w := &f.win
	return measureStill(&f.level, w.t[i-w.base:j-w.base], w.forces(i, j))
}

const (
	stillNewest = 5   // of the stretch before a pull, the newest part in so many
	stillBlocks = 24  // that a stretch is looked at in
	stillLeast  = 4   // readings in one
	stillFew    = 6   // blocks that tell nothing
	stillApart  = 3.5 // standard deviations from the others at which a block is left out
)

// measureStill measures a line at rest, f at times t.
//
// A line that is handled moves by less than single noisy readings do, but for
// longer: what stands off from the rest in the mean of a block of readings is
// left out, with the blocks beside it. How far the means of the blocks left
// scatter about their straight line in time says how well the level is known: on
// a line that wanders, or whose noise lasts from one reading to the next, less
// well than from as many readings on their own (batch means: Law and Kelton,
// Simulation Modeling and Analysis, section 9.5, from memory).
func measureStill(level *trace.Leveller, t []int64, f []float64) still {
	size := max(stillLeast, len(f)/stillBlocks)
	means := blockMeans(f, size)
	if len(means) < stillFew {
		l := level.Measure(f)
		return still{Level: l, se: l.Sigma / math.Sqrt(math.Max(1, float64(l.N))), at: t[len(t)/2]}
	}
	means = means[:len(means):len(means)]
	keep := alike(means, level.Measure(f).Sigma/math.Sqrt(float64(size)))
	kept := make([]float64, 0, len(f))
	var x, y []float64
	for k, yes := range keep {
		if yes {
			x, y = append(x, float64(k)), append(y, means[k])
			kept = append(kept, f[k*size:(k+1)*size]...)
		}
	}
	s := still{Level: level.Measure(kept), at: t[min(len(t)-1, int((mean(x)+0.5)*float64(size)))]}
	s.se = math.Max(s.Sigma/math.Sqrt(float64(s.N)), scatter(x, y)/math.Sqrt(float64(len(y))))
	return s
}

// lasting is by how much the mean of many readings is known less well than if
// the noise of each were its own; 1 where it is not known.
func (s still) lasting() float64 {
	if !(s.Sigma > 0) || s.N == 0 {
		return 1
	}
	return s.se * math.Sqrt(float64(s.N)) / s.Sigma
}

// blockMeans gives the means of blocks of so many readings, without a last
// one that is not full.
func blockMeans(f []float64, size int) []float64 {
	var means []float64
	for i := 0; i+size <= len(f); i += size {
		means = append(means, mean(f[i:i+size]))
	}
	return means
}

// alike says which block means lie with the others, of which each has a
// standard deviation of sd at least, and are not beside one that does not. All
// are kept where more than half would go.
func alike(means []float64, sd float64) []bool {
	middle := trace.Median(append([]float64(nil), means...))
	d := make([]float64, len(means))
	for k, v := range means {
		d[k] = math.Abs(v - middle)
	}
	limit := stillApart * math.Max(sd, 1.4826*trace.Median(append([]float64(nil), d...)))
	keep, kept := make([]bool, len(means)), 0
	for k := range keep {
		keep[k] = d[k] <= limit && (k == 0 || d[k-1] <= limit) && (k+1 == len(d) || d[k+1] <= limit)
		if keep[k] {
			kept++
		}
	}
	for k := range keep {
		keep[k] = keep[k] || kept < max(stillFew, len(keep)/2)
	}
	return keep
}

// scatter is the standard deviation of y about its straight line in x.
func scatter(x, y []float64) float64 {
	mx, my := mean(x), mean(y)
	var xx, xy, yy float64
	for i := range x {
		dx, dy := x[i]-mx, y[i]-my
		xx += dx * dx
		xy += dx * dy
		yy += dy * dy
	}
	return math.Sqrt(math.Max(0, yy-xy*xy/xx) / float64(len(y)-2))
}
