package shock

import (
	"math"
)

// unknowns are what is not known of pulls: the coefficients of straps, then of
// grounds, in natural logarithms.
//
// The search goes over other numbers, one for each of them and free to go
// anywhere: of a strap the logarithm itself; of a ground how much it lessens
// the peak of a swing beyond the hardest on it, between a vehicle that nothing
// holds and one that stands, as a logit.
type unknowns struct {
	straps, grounds index[string]
	swings          []swing
	share           []float64 // by ground, the mean of its swings
	pulls           []float64 // by ground
}

// reach is up to how many times the hardest swing of a ground its resistance
// may be. From one time on, it held in each pull and no pull tells more.
const reach = 2

func unknownsOf(pulls []Pull) unknowns {
	u := unknowns{straps: index[string]{}, grounds: index[string]{}}
	for _, p := range pulls {
		u.swings = append(u.swings, p.swing(u.straps.of(p.Class.Strap), u.grounds.of(p.Class.Ground)))
	}
	u.share = make([]float64, len(u.grounds))
	u.pulls = make([]float64, len(u.grounds))
	for _, s := range u.swings {
		u.share[s.ground] += s.share
		u.pulls[s.ground]++
	}
	for g := range u.share {
		u.share[g] /= u.pulls[g]
	}
	return u
}

func (u unknowns) count() int { return len(u.straps) + len(u.grounds) }

// coefficients are the logarithms of the coefficients at x, in into. A ground
// that held in each pull is +Inf.
func (u unknowns) coefficients(into, x []float64) {
	straps := len(u.straps)
	copy(into, x[:straps])
	for g := range u.share {
		into[straps+g] = math.Inf(-1)
	}
	for _, s := range u.swings {
		into[straps+s.ground] = math.Max(into[straps+s.ground], s.fixed+x[s.strap]/2)
	}
	for g, a := range u.share {
		held, _ := lessening(a, x[straps+g])
		into[straps+g] += math.Log(held)
		if held >= 1 {
			into[straps+g] = math.Inf(1)
		}
	}
}

// lessening is the resistance over the hardest swing for a logit, with the
// slope of its logarithm.
func lessening(a, logit float64) (held, slope float64) {
	free, q := math.Sqrt(1-a), 1/(1+math.Exp(-logit))
	held, slope = holding(a, free+(1-free)*q)
	return reach * held, slope / held * (1 - free) * q * (1 - q)
}

// doubt is the weight of the second part of what is believed of grounds.
const doubt = 0.3

// before is the logarithm of what is believed of x before anything is seen.
// slopes are the mean squares of the slopes of peaks against the coefficients
// of grounds. Of a strap, any logarithm is as likely as the next. Of a ground,
// it is the prior that favours nothing, in proportion to how much pulls could
// tell (Jeffreys, Proceedings of the Royal Society A 186, 1946, 453-461); and
// a lesser part that any lessening is as likely as the next, which leaves room
// for a vehicle that stood in every pull.
func (u unknowns) before(x, slopes []float64) (log float64) {
	for g, z := range x[len(u.straps):] {
		_, slope := lessening(u.share[g], z)
		q := 1 / (1 + math.Exp(-z))
		log += math.Log(math.Sqrt(slopes[g])*slope + doubt*q*(1-q) + 1e-300)
	}
	return log
}

// peaks are the logarithms of the peaks over the weights at the coefficients.
func (u unknowns) peaks(into, coefficients []float64) {
	straps := len(u.straps)
	for i, s := range u.swings {
		into[i] = s.peak(coefficients[s.strap], coefficients[straps+s.ground])
	}
}

// starts are where a search may begin: stiffness as if the stuck end were
// fixed, a little above since it is not, and little, some or much resistance.
func (u unknowns) starts(obs []observation) (all [][]float64) {
	stiffness := make([][]float64, len(u.straps))
	for i, s := range u.swings {
		stiffness[s.strap] = append(stiffness[s.strap], 2*(obs[i].y-s.fixed)+math.Log(1.3))
	}
	for _, logit := range []float64{-2, -0.5, 1} {
		x := make([]float64, u.count())
		for i := range x {
			x[i] = logit
		}
		for i, k := range stiffness {
			x[i] = median(k)
		}
		all = append(all, x)
	}
	return all
}
