package shock

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"tautlog/calc/words"
)

// ErrNoFit says that the squares could not be made least.
var ErrNoFit error = words.Kind("shock.fit.unsettled")

// Problem is a sum of squares to be made least.
type Problem struct {
	// Residuals fills into with what the model leaves at the parameters; NaN
	// or Inf where the model has no value.
	Residuals func(into, parameters []float64)
	Count     int // how many residuals there are
	// Tolerance is the change of parameters, relative to their size, below
	// which a step is the last; 0 means 1e-12.
	Tolerance float64
}

// Squares is where a sum of squares is least.
type Squares struct {
	Parameters []float64
	SD         []float64 // standard deviations of the parameters; Inf where the residuals do not tell
	RSS        float64   // the sum of squares
	Covariance *mat.SymDense
	Rounds     int
}

// LeastSquares starts from parameters and goes on until a step changes no
// parameter any more. It is the method of Levenberg and Marquardt with the
// parameters scaled by the most that they have done to the residuals (Moré,
// Lecture Notes in Mathematics 630, 1978, 105-116) and by their own size, each
// step by a QR factorisation, the damping by how well the last step kept its
// promise (Nielsen, IMM-REP-1999-05), and derivatives by central differences. The checks are NIST
// Statistical Reference Datasets, from both of their starts. It panics where
// there are fewer residuals than parameters.
func LeastSquares(p Problem, start []float64) (Squares, error) {
	if p.Count < len(start) || len(start) == 0 {
		panic("shock: fewer residuals than parameters")
	}
	d := newDescent(p, start)
	if !d.finite(d.rss) {
		return Squares{}, ErrNoFit
	}
	const most = 500
	for round := 1; round <= most; round++ {
		if d.step() {
			return d.result(round)
		}
	}
	return Squares{}, ErrNoFit
}

// descent is a search under way.
type descent struct {
	Problem
	at, residuals []float64
	rss           float64
	jacobian      *mat.Dense
	scale         []float64
	damping       float64
	growth        float64
	trial, left   []float64 // the next place and its residuals
}

func newDescent(p Problem, start []float64) *descent {
	n := len(start)
	d := &descent{
		Problem: p, at: append([]float64(nil), start...), residuals: make([]float64, p.Count),
		jacobian: mat.NewDense(p.Count, n, nil), scale: make([]float64, n), damping: 1e-2, growth: 2,
		trial: make([]float64, n), left: make([]float64, p.Count),
	}
	if d.Tolerance == 0 {
		d.Tolerance = 1e-12
	}
	p.Residuals(d.residuals, d.at)
	d.rss = squares(d.residuals)
	d.differentiate()
	return d
}

func (d *descent) finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

func squares(x []float64) (sum float64) {
	for _, v := range x {
		sum += v * v
	}
	return sum
}

// differentiate fills the Jacobian with central differences. To double a
// parameter costs at least as much as all that is left, so that one which does
// little at first does not run away before the others are found.
func (d *descent) differentiate() {
	up, down := make([]float64, d.Count), make([]float64, d.Count)
	x := append([]float64(nil), d.at...)
	for j, v := range d.at {
		h := math.Cbrt(0x1p-52) * math.Max(math.Abs(v), 1e-8)
		x[j] = v + h
		d.Residuals(up, x)
		x[j] = v - h
		d.Residuals(down, x)
		x[j] = v
		square := 0.0
		for i := range up {
			slope := (up[i] - down[i]) / (2 * h)
			if !d.finite(slope) {
				slope = 0
			}
			d.jacobian.Set(i, j, slope)
			square += slope * slope
		}
		d.scale[j] = math.Max(d.scale[j], math.Sqrt(square+d.rss/math.Max(v*v, 1e-16)))
	}
}

// step tries one step and tells whether the search is over.
func (d *descent) step() (done bool) {
	delta := d.solve()
	small := true
	for j, v := range delta {
		d.trial[j] = d.at[j] + v
		small = small && math.Abs(v) <= d.Tolerance*(math.Abs(d.at[j])+d.Tolerance)
	}
	d.Residuals(d.left, d.trial)
	rss := squares(d.left)
	gain := (d.rss - rss) / d.promised(delta)
	if d.finite(rss) && rss < d.rss {
		copy(d.at, d.trial)
		copy(d.residuals, d.left)
		d.rss = rss
		d.differentiate()
		d.damping *= math.Max(0.1, 1-math.Pow(2*gain-1, 3))
		d.growth = 2
		return small
	}
	d.damping *= d.growth
	d.growth *= 2
	return small || d.damping > 1e30
}

// promised is by how much the sum of squares would fall if the model were
// linear.
func (d *descent) promised(delta []float64) float64 {
	sum := 0.0
	for i, r := range d.residuals {
		moved := r
		for j, v := range delta {
			moved += d.jacobian.At(i, j) * v
		}
		sum += r*r - moved*moved
	}
	return math.Max(sum, 1e-300)
}

// solve gives the step that makes the squares least in which long steps, too,
// have a price.
func (d *descent) solve() []float64 {
	n := len(d.at)
	a, b := mat.NewDense(d.Count+n, n, nil), mat.NewVecDense(d.Count+n, nil)
	a.Slice(0, d.Count, 0, n).(*mat.Dense).Copy(d.jacobian)
	for i, r := range d.residuals {
		b.SetVec(i, -r)
	}
	for j, s := range d.scale {
		a.Set(d.Count+j, j, math.Sqrt(d.damping)*math.Max(s, 1e-30))
	}
	var qr mat.QR
	qr.Factorize(a)
	var x mat.VecDense
	_ = qr.SolveVecTo(&x, false, b) // a warning of ill condition: the damping has to deal with that
	return x.RawVector().Data
}

func (d *descent) result(rounds int) (Squares, error) {
	n := len(d.at)
	s := Squares{Parameters: d.at, SD: make([]float64, n), RSS: d.rss, Rounds: rounds}
	var normal mat.SymDense
	normal.SymOuterK(1, d.jacobian.T())
	var f mat.Cholesky
	if d.Count == n || !f.Factorize(&normal) {
		for j := range s.SD {
			s.SD[j] = math.Inf(1)
		}
		return s, nil
	}
	s.Covariance = mat.NewSymDense(n, nil)
	_ = f.InverseTo(s.Covariance) // ill condition shows in the standard deviations
	s.Covariance.ScaleSym(d.rss/float64(d.Count-n), s.Covariance)
	for j := range s.SD {
		s.SD[j] = math.Sqrt(s.Covariance.At(j, j))
	}
	return s, nil
}
