package shock

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"tautlog/analysis/pull"
	"tautlog/calc/kinetic"
	"tautlog/calc/unit"
)

// SpeedFit is what kinetic pulls of known speed tell of straps and grounds, by
// the two-body model of calc/kinetic with a linear line, no loss and no drive
// after the line is taut.
type SpeedFit struct {
	Straps  []Coefficient // stiffness · length / breaking strength, one a strap
	Grounds []Coefficient // resistance / weight of the stuck vehicle, one a ground
	Pulls   int
	Days    int
	// Spread is the standard deviation of the logarithm of the peak about the
	// model.
	Spread float64

	used  []Pull
	again []tried // fits of the days drawn again and again
	best  tried
}

// Coefficient is one unknown of the speed fit.
type Coefficient struct {
	Name  string
	Pulls int
	Value float64
	// Low to High holds it with 95 % confidence, by drawing the days again; nil
	// where there are too few days for that.
	Low, High *float64
	// Still says of a ground that by the fit no vehicle moved before the peak:
	// the value is only what it was at least.
	Still bool
}

const (
	fewestDays = 5   // to draw days again
	draws      = 300 // how often
	spare      = 3   // pulls more than unknowns
)

// tried is the model with all its unknowns.
type tried struct {
	strap, ground map[string]float64
	spread        float64
}

// FitSpeed fits the kinetic pulls of which speed, both masses, length and
// strength of the strap are known, and lists the other kinetic ones. Without
// any speed there is neither a fit nor a list; with too few pulls for so many
// straps and grounds there is a list only.
func FitSpeed(pulls []Pull) (*SpeedFit, []LeftOut) {
	var use []Pull
	var out []LeftOut
	known := false
	for _, p := range pulls {
		if p.Class.Kind != pull.Kinetic || p.Problem() != "" {
			continue
		}
		known = known || p.Speed > 0
		if why := p.withoutSpeed(); why != "" {
			out = append(out, LeftOut{p, why})
			continue
		}
		use = append(use, p)
	}
	if !known {
		return nil, nil
	}
	u := unknownsOf(use)
	best, ok := u.try(use, u.starts(use)...)
	if !ok {
		for _, p := range use {
			out = append(out, LeftOut{p, "too few pulls of known speed for so many straps and grounds"})
		}
		return nil, out
	}
	f := &SpeedFit{Pulls: len(use), Spread: best.spread, used: use, best: best}
	days := byDay(use)
	f.Days = len(days)
	if len(days) >= fewestDays {
		f.again = drawAgain(days, best)
	}
	f.fill(use)
	return f, out
}

// withoutSpeed says what is missing for the speed fit, or nothing.
func (p Pull) withoutSpeed() string {
	switch {
	case !(p.Speed > 0):
		return "no speed"
	case p.Puller == 0:
		return "no mass of the puller"
	case p.StrapLength == 0:
		return "no length of the strap"
	case p.StrapMBS == 0:
		return "no breaking strength of the strap"
	case p.open():
		return "the peak is only a lower bound"
	}
	return ""
}

// unknowns numbers the unknowns of pulls: straps first, then grounds.
type unknowns struct{ straps, grounds index[string] }

func unknownsOf(pulls []Pull) unknowns {
	u := unknowns{index[string]{}, index[string]{}}
	for _, p := range pulls {
		u.straps.of(p.Class.Strap)
		u.grounds.of(p.Class.Ground)
	}
	return u
}

func (u unknowns) count() int { return len(u.straps) + len(u.grounds) }

// try fits the model from each of several starts and takes the best. It is
// false where there are too few pulls for the unknowns.
func (u unknowns) try(pulls []Pull, starts ...[]float64) (best tried, ok bool) {
	if len(pulls) < u.count()+spare {
		return best, false
	}
	problem := Problem{Count: len(pulls), Tolerance: 1e-7, Residuals: func(into, x []float64) {
		for i, p := range pulls {
			peak := p.modelled(math.Exp(x[u.straps[p.Class.Strap]]), math.Exp(x[len(u.straps)+u.grounds[p.Class.Ground]]))
			into[i] = math.Log(peak) - p.likely()
		}
	}}
	least := math.Inf(1)
	for _, from := range starts {
		s, err := LeastSquares(problem, from)
		if err != nil || s.RSS >= least {
			continue
		}
		least, ok = s.RSS, true
		best = tried{strap: map[string]float64{}, ground: map[string]float64{}, spread: s.ResidualSD(len(pulls))}
		for name, i := range u.straps {
			best.strap[name] = math.Exp(s.Parameters[i])
		}
		for name, i := range u.grounds {
			best.ground[name] = math.Exp(s.Parameters[len(u.straps)+i])
		}
	}
	return best, ok
}

// start is t as the unknowns number it.
func (u unknowns) start(t tried) []float64 {
	x := make([]float64, u.count())
	for name, i := range u.straps {
		x[i] = math.Log(t.strap[name])
	}
	for name, i := range u.grounds {
		x[len(u.straps)+i] = math.Log(t.ground[name])
	}
	return x
}

// likely is the logarithm of the best single value for the peak.
func (p Pull) likely() float64 {
	low, high := p.interval()
	return (low+high)/2 + math.Log(float64(p.Reference.Weight()))
}

// modelled is the peak by the model.
func (p Pull) modelled(strap, ground float64) float64 {
	r, err := p.planned(strap, ground)
	if err != nil {
		return math.NaN()
	}
	return float64(r.Peak)
}

func (p Pull) planned(strap, ground float64) (kinetic.Result, error) {
	return kinetic.Closed(kinetic.Pull{
		Puller: p.Puller, Stuck: p.Reference, Speed: p.Speed,
		Line:       kinetic.Line{Curve: kinetic.Linear(unit.Stiffness(strap * float64(p.StrapMBS) / float64(p.StrapLength)))},
		Resistance: unit.Force(ground * float64(p.Reference.Weight())),
	})
}

// starts are where a search may begin: stiffness as if the stuck end were
// fixed, a little above since it is not, and little, some or much resistance.
func (u unknowns) starts(pulls []Pull) (all [][]float64) {
	stiffness := make([][]float64, len(u.straps))
	for _, p := range pulls {
		peak, v := math.Exp(p.likely()), float64(p.Speed)
		k := peak * peak / (float64(p.Puller) * v * v)
		i := u.straps[p.Class.Strap]
		stiffness[i] = append(stiffness[i], math.Log(1.3*k*float64(p.StrapLength)/float64(p.StrapMBS)))
	}
	for _, held := range []float64{0.1, 0.3, 0.8} {
		x := make([]float64, u.count())
		for i := range x {
			x[i] = math.Log(held)
		}
		for i, k := range stiffness {
			x[i] = median(k)
		}
		all = append(all, x)
	}
	return all
}

// fill makes the coefficients of the fits.
func (f *SpeedFit) fill(pulls []Pull) {
	straps, grounds, moved := map[string]int{}, map[string]int{}, map[string]bool{}
	for _, p := range pulls {
		straps[p.Class.Strap]++
		grounds[p.Class.Ground]++
		r, err := p.planned(f.best.strap[p.Class.Strap], f.best.ground[p.Class.Ground])
		moved[p.Class.Ground] = moved[p.Class.Ground] || err == nil && r.Moves
	}
	f.Straps = f.coefficients(straps, func(t tried) map[string]float64 { return t.strap })
	f.Grounds = f.coefficients(grounds, func(t tried) map[string]float64 { return t.ground })
	for i, g := range f.Grounds {
		if !moved[g.Name] {
			f.Grounds[i].Still, f.Grounds[i].Low, f.Grounds[i].High = true, nil, nil
			f.Grounds[i].Value = hardest(pulls, g.Name)
		}
	}
}

// hardest is the largest factor of the pulls on a ground.
func hardest(pulls []Pull, ground string) (most float64) {
	for _, p := range pulls {
		if p.Class.Ground == ground {
			most = math.Max(most, p.Factor())
		}
	}
	return most
}

func (f *SpeedFit) coefficients(pulls map[string]int, of func(tried) map[string]float64) (all []Coefficient) {
	for name, n := range pulls {
		c := Coefficient{Name: name, Pulls: n, Value: of(f.best)[name]}
		var values []float64
		for _, t := range f.again {
			if v, ok := of(t)[name]; ok {
				values = append(values, v)
			}
		}
		if low, ok := f.quantile(values, (1-Confidence)/2); ok {
			high, _ := f.quantile(values, 1-(1-Confidence)/2)
			c.Low, c.High = &low, &high
		}
		all = append(all, c)
	}
	slices.SortFunc(all, func(a, b Coefficient) int { return compare(Class{Ground: a.Name}, Class{Ground: b.Name}) })
	return all
}

// quantile is the quantile p of what came out when the days were drawn again,
// taken further out since the days are few: the expanded percentile interval
// (Hesterberg, The American Statistician 69, 2015, 371-386). It is false where
// there were too few draws.
func (f *SpeedFit) quantile(values []float64, p float64) (float64, bool) {
	if len(values) < draws/2 {
		return 0, false
	}
	days := float64(f.Days)
	t := distuv.StudentsT{Sigma: 1, Nu: days - 1}.Quantile(p)
	slices.Sort(values)
	at := distuv.UnitNormal.CDF(t*math.Sqrt(days/(days-1))) * float64(len(values)-1)
	i := min(int(at), len(values)-2)
	return values[i] + (at-float64(i))*(values[i+1]-values[i]), true
}

// Peak is the peak that the model expects of a planned pull, of which speed,
// masses, strap and ground are given, and the bound that 95 % of such pulls
// stay below with 95 % confidence; nil where there are too few days for one.
// It is an error where the fit knows nothing of the strap or the ground.
func (f *SpeedFit) Peak(p Pull) (expected unit.Force, upper *unit.Force, err error) {
	if why := p.withoutSpeed(); why != "" || p.Reference == 0 {
		return 0, nil, fmt.Errorf("the pull cannot be planned: %s", cmp.Or(why, "no reference mass"))
	}
	peak, ok := f.best.peak(p)
	if !ok {
		return 0, nil, fmt.Errorf("no pull was fitted with the strap %q on the ground %q", p.Class.Strap, p.Class.Ground)
	}
	var bounds []float64
	for _, t := range f.again {
		if q, ok := t.peak(p); ok {
			bounds = append(bounds, q*math.Exp(normalQuantile(Content)*t.spread))
		}
	}
	if bound, ok := f.quantile(bounds, Confidence); ok {
		u := unit.Force(bound)
		upper = &u
	}
	return unit.Force(peak), upper, nil
}

func (t tried) peak(p Pull) (float64, bool) {
	strap, known := t.strap[p.Class.Strap]
	ground, too := t.ground[p.Class.Ground]
	if !known || !too {
		return 0, false
	}
	return p.modelled(strap, ground), true
}
