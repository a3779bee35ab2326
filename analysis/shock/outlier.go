package shock

import (
	"math"
	"slices"

	"tautlog/analysis/pull"
)

// Outlier is a pull that lies far from the others of its class.
type Outlier struct {
	Pull Pull
	// Score is the distance from the middle of the class, over the spread of
	// the class or of all classes of the kind, whichever is larger; all by
	// medians.
	Score float64
}

// farOut is the score from which on a pull is listed (Iglewicz and Hoaglin,
// How to Detect and Handle Outliers, 1993: 3.5).
const farOut = 3.5

// normalMAD is the median absolute deviation of a normal distribution over its
// standard deviation.
const normalMAD = 0.674489750196082

// Outliers lists the pulls of the set that lie far from the others of their
// class, in the order of the lines. They are used all the same: a hard pull is
// no mistake until somebody finds one.
func (s Set) Outliers() (out []Outlier) {
	distances, kinds := map[Class][]float64{}, map[pull.Kind][]float64{}
	middles := map[Class]float64{}
	for _, c := range s.Classes {
		if c.Pulls >= FewestAny {
			middles[c.Class], distances[c.Class] = s.distances(c.Class)
			kinds[c.Class.Kind] = append(kinds[c.Class.Kind], distances[c.Class]...)
		}
	}
	for _, p := range s.Used {
		d, ok := distances[p.Class]
		if !ok {
			continue
		}
		spread := median(kinds[p.Class.Kind])
		if len(d) >= FewestAlone {
			spread = math.Max(spread, median(d))
		}
		if score := normalMAD * (math.Log(p.Factor()) - middles[p.Class]) / spread; spread > 0 && math.Abs(score) > farOut {
			out = append(out, Outlier{p, score})
		}
	}
	slices.SortStableFunc(out, func(a, b Outlier) int { return a.Pull.Line - b.Pull.Line })
	return out
}

// distances are the middle of a class and how far its pulls lie from it.
func (s Set) distances(c Class) (middle float64, distances []float64) {
	for _, p := range s.Used {
		if p.Class == c {
			distances = append(distances, math.Log(p.Factor()))
		}
	}
	middle = median(distances)
	for i, y := range distances {
		distances[i] = math.Abs(y - middle)
	}
	return middle, distances
}

func median(x []float64) float64 {
	slices.Sort(x)
	n := len(x)
	return (x[(n-1)/2] + x[n/2]) / 2
}

// Less fits again without the pulls that drop picks.
func (s Set) Less(drop func(Pull) bool) Set {
	return Fit(slices.DeleteFunc(slices.Clone(s.Used), drop))
}

// Flagged tells whether something is to be known of the peak before trusting
// it.
func (p Pull) Flagged() bool { return len(p.Flags) > 0 }
