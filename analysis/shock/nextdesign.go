package shock

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"tautlog/calc/unit"
)

// design is what is known of the unknowns of the speed fit, as far as the
// model is straight about its best fit, and how it grows with each pull.
//
// The logarithm of a peak is taken to be straight in the logarithms of the
// unknowns, with a gradient g, plus the effect of the day, of variance day,
// plus an error of variance single. The pulls so far give the information
// matrix Σ J'V⁻¹J over the days, with V = single·I + day·11'; its inverse is
// the covariance of the unknowns. The effect of the day to come is one more
// unknown, of which only its variance is known, so that one more pull there,
// h = (g, 1), is an update of rank one (Sherman and Morrison, Annals of
// Mathematical Statistics 21, 1950, 124-127). What is wanted is c = (gradient
// at the target, 0): the pull that makes c'Cc, the variance of the logarithm of
// the target's expected peak, least is taken first, then the next one, which is
// a sequential c-optimal design (Pukelsheim, Optimal Design of Experiments,
// Wiley 1993, chapter 2 for c-optimality; Atkinson and Donev, Optimum
// Experimental Designs, Oxford 1992, for local designs and for growing them
// one by one). The pages were recalled from memory, not looked up.
//
// Two things keep it defined: nobody is taken to know less of an unknown than
// a factor of e, either way (vague), and the variances are floored at
// leastSpread.
type design struct {
	straps, grounds index[string]
	at              []float64     // logarithms of the unknowns: straps, then grounds
	cov             *mat.SymDense // of the unknowns and, last, of the day to come
	single, day     float64       // variances
	target          *mat.VecDense
	free            freedom
}

// freedom is from how many independent values the variances are known.
type freedom struct{ pulls, days float64 }

// vague is the variance of the logarithm of an unknown of which nothing is
// known.
const vague = 1.0

// newDesign takes the pulls of the speed fit for what is known, and the
// unknowns of those that might be made besides.
func newDesign(f *SpeedFit, might []Pull, target Pull) *design {
	d := &design{straps: index[string]{}, grounds: index[string]{}}
	days := residualsByDay(f)
	for _, of := range days {
		for _, r := range of {
			d.number(r.Pull)
		}
	}
	for _, p := range append(might, target) {
		d.number(p)
	}
	d.at = append(near(f.Straps, d.straps), near(f.Grounds, d.grounds)...)
	d.variances(f, days)
	d.cov = d.covariance(days)
	d.target = d.gradient(target, 0)
	return d
}

func (d *design) number(p Pull) {
	d.straps.of(p.Class.Strap)
	d.grounds.of(p.Class.Ground)
}

// residualsByDay are the residuals of the fit, those of a day together.
func residualsByDay(f *SpeedFit) (days [][]Residual) {
	numbers := index[string]{}
	for _, r := range f.Residuals() {
		if i := numbers.of(r.Pull.Day); i == len(days) {
			days = append(days, []Residual{r})
		} else {
			days[i] = append(days[i], r)
		}
	}
	return days
}

// near are the logarithms of the fitted unknowns as they are numbered; one that
// was not fitted is taken to be in the middle of those of its sort.
func near(fitted []Coefficient, numbers index[string]) []float64 {
	x, all := make([]float64, len(numbers)), make([]float64, 0, len(fitted))
	for _, c := range fitted {
		all = append(all, math.Log(c.Value))
	}
	for i := range x {
		x[i] = median(slices.Clone(all))
	}
	for _, c := range fitted {
		x[numbers[c.Name]] = math.Log(c.Value)
		if c.Still { // more than any pull so far asked of it
			x[numbers[c.Name]]++
		}
	}
	return x
}

// covariance is what the pulls so far leave unknown, with the day to come.
func (d *design) covariance(days [][]Residual) *mat.SymDense {
	n := len(d.at)
	info := mat.NewSymDense(n, nil)
	for i := range n {
		info.SetSym(i, i, 1/vague)
	}
	for _, of := range days {
		d.learn(info, of)
	}
	var chol mat.Cholesky
	var inverse mat.SymDense
	if !chol.Factorize(info) || chol.InverseTo(&inverse) != nil {
		panic("shock: an information matrix with a prior has no inverse")
	}
	cov := mat.NewSymDense(n+1, nil)
	for i := range n {
		for j := i; j < n; j++ {
			cov.SetSym(i, j, inverse.At(i, j))
		}
	}
	cov.SetSym(n, n, d.day)
	return cov
}

// learn adds what the pulls of one day tell.
func (d *design) learn(info *mat.SymDense, of []Residual) {
	n := len(d.at)
	sum, share := mat.NewVecDense(n, nil), d.day/(d.single+float64(len(of))*d.day)
	for _, r := range of {
		g := d.gradient(r.Pull, 0).SliceVec(0, n)
		info.SymRankOne(info, 1/d.single, g)
		sum.AddVec(sum, g)
	}
	info.SymRankOne(info, -share/d.single, sum)
}

// gradient is how the logarithm of the modelled peak follows the unknowns, and
// the effect of the day as often as told.
func (d *design) gradient(p Pull, day float64) *mat.VecDense {
	const step = 1e-4
	s, g := d.straps[p.Class.Strap], len(d.straps)+d.grounds[p.Class.Ground]
	v := mat.NewVecDense(len(d.at)+1, nil)
	v.SetVec(s, (d.peak(p, step, 0)-d.peak(p, -step, 0))/(2*step))
	v.SetVec(g, (d.peak(p, 0, step)-d.peak(p, 0, -step))/(2*step))
	v.SetVec(len(d.at), day)
	return v
}

// peak is the logarithm of the modelled peak over the weight, with the unknowns a little off.
func (d *design) peak(p Pull, strap, ground float64) float64 {
	s, g := d.straps[p.Class.Strap], d.grounds[p.Class.Ground]
	return p.swing(s, g).peak(d.at[s]+strap, d.at[len(d.straps)+g]+ground)
}

// variances parts the spread about the fit into days and single pulls, by the
// mean squares between and within days (the analysis of variance of one random
// factor, unequal groups: Searle, Casella and McCulloch, Variance Components,
// Wiley 1992, section 3.6, recalled from memory). Where every pull has a day of
// its own, half and half is taken.
func (d *design) variances(f *SpeedFit, days [][]Residual) {
	n, within, between, squares := float64(f.Pulls), 0.0, 0.0, 0.0
	for _, of := range days {
		size, mean := float64(len(of)), 0.0
		for _, r := range of {
			mean += r.Log / size
		}
		for _, r := range of {
			within += (r.Log - mean) * (r.Log - mean)
		}
		between += size * mean * mean
		squares += size * size
	}
	a, fitted := float64(len(days)), float64(len(f.Straps)+len(f.Grounds))
	d.free = freedom{pulls: math.Max(1, n-a-fitted+1), days: math.Max(1, a-1)}
	if n == a || a == 1 {
		d.single, d.day = f.Spread*f.Spread/2, f.Spread*f.Spread/2
	} else {
		d.single = within / d.free.pulls
		d.day = math.Max(0, (between/d.free.days-d.single)/((n-squares/n)/(a-1)))
	}
	d.single = math.Max(d.single, leastSpread*leastSpread)
}

// variance is that of the logarithm of the target's expected peak.
func (d *design) variance() float64 { return mat.Inner(d.target, d.cov, d.target) }

// gain is by how much the variance would fall with one more pull.
func (d *design) gain(h *mat.VecDense) float64 {
	ch := mat.Inner(d.target, d.cov, h)
	return ch * ch / (d.single + mat.Inner(h, d.cov, h))
}

// make learns from one more pull.
func (d *design) make(h *mat.VecDense) {
	var ch mat.VecDense
	ch.MulVec(d.cov, h)
	d.cov.SymRankOne(d.cov, -1/(d.single+mat.Dot(h, &ch)), &ch)
}

// reach is how far the bound lies above the percentile that is likely, in the
// logarithm, with so many days and pulls more: the t quantile of the days times
// what is not known of the expected peak and of the spread together.
func (d *design) reach(variance, pulls, days float64) float64 {
	z := normalQuantile(Content)
	total := d.single + d.day
	between := d.day + d.single*d.free.days/(d.free.pulls+d.free.days+1)
	ofSpread := (d.single*d.single/(d.free.pulls+pulls) + between*between/(d.free.days+days)) / (2 * total)
	t := distuv.StudentsT{Sigma: 1, Nu: d.free.days + days}.Quantile(Confidence)
	return t * math.Sqrt(variance+z*z*ofSpread)
}

// bySpeed chooses pulls by the design for the target.
func (n *NextPlan) bySpeed(know knowledge, count int) {
	var might []Pull
	for _, p := range n.Allowed {
		might = append(might, p.Pull)
	}
	d := newDesign(know.speed, might, n.Target)
	rows := make([]*mat.VecDense, len(n.Allowed)) // nil for pulls that the model knows too little of
	before := d.variance()
	for i, p := range n.Allowed {
		if p.Pull.withoutSpeed() == "" {
			rows[i] = d.gradient(p.Pull, 1)
			n.Allowed[i].Gain = 1 - math.Sqrt(math.Max(0, 1-d.gain(rows[i])/before))
		}
	}
	for range count {
		best := n.best(d, rows)
		if best < 0 {
			break
		}
		n.add(n.Allowed[best])
		d.make(rows[best])
	}
	n.DoubtNow, n.DoubtThen = math.Sqrt(before), math.Sqrt(d.variance())
	n.expect(know, d, before)
}

// nearBest is how near to the best a pull must be to be taken for its lower peak.
const nearBest = 0.9

// best is the allowed pull to make next: the gentlest of those within a tenth
// of the best; −1 where none tells anything.
func (n *NextPlan) best(d *design, rows []*mat.VecDense) int {
	gains, most := make([]float64, len(rows)), 0.0
	for i, p := range n.Allowed {
		if rows[i] != nil && !n.exhausted(p) {
			gains[i] = d.gain(rows[i])
			most = math.Max(most, gains[i])
		}
	}
	best := -1
	for i, g := range gains {
		if g > 0 && g >= nearBest*most && (best < 0 || n.Allowed[i].order() < n.Allowed[best].order()) {
			best = i
		}
	}
	return best
}

// expect sets what the bound of the target is expected to be after the plan:
// what it lies above the likely percentile now, made smaller as the design has
// it.
func (n *NextPlan) expect(know knowledge, d *design, before float64) {
	if n.By != BySpeed {
		return
	}
	made := 0
	for _, p := range n.Pulls {
		made += p.Count
	}
	expected, _, err := know.speed.Peak(n.Target)
	if err != nil || made == 0 {
		return
	}
	likely := math.Log(float64(expected)) + normalQuantile(Content)*know.speed.Spread
	above := math.Log(float64(*n.Now)) - likely
	then := unit.Force(math.Exp(likely + above*d.reach(d.variance(), float64(made-1), 1)/d.reach(before, 0, 0)))
	n.Then = &then
}
