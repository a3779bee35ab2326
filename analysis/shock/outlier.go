package shock

import (
	"math"
	"slices"
)

// Outlier is a pull that lies far from the others of its class.
type Outlier struct {
	Pull Pull
	// Score is the distance from the middle of the class, over the spread of
	// all classes of the kind, both by medians.
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
	middles := map[Class]float64{}
	for _, c := range s.Classes {
		var y []float64
		for _, p := range s.Used {
			if p.Class == c.Class {
				y = append(y, math.Log(p.Factor()))
			}
		}
		if len(y) >= FewestAny {
			middles[c.Class] = median(y)
		}
	}
	spread := s.spreads(middles)
	for _, p := range s.Used {
		m, ok := middles[p.Class]
		if mad := spread[Class{Kind: p.Class.Kind}]; ok && mad > 0 {
			if score := normalMAD * (math.Log(p.Factor()) - m) / mad; math.Abs(score) > farOut {
				out = append(out, Outlier{p, score})
			}
		}
	}
	slices.SortStableFunc(out, func(a, b Outlier) int { return a.Pull.Line - b.Pull.Line })
	return out
}

// spreads is the median distance from the middles, one a kind.
func (s Set) spreads(middles map[Class]float64) map[Class]float64 {
	distances := map[Class][]float64{}
	for _, p := range s.Used {
		if m, ok := middles[p.Class]; ok {
			kind := Class{Kind: p.Class.Kind}
			distances[kind] = append(distances[kind], math.Abs(math.Log(p.Factor())-m))
		}
	}
	mads := map[Class]float64{}
	for kind, d := range distances {
		mads[kind] = median(d)
	}
	return mads
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
