package calibrate

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// ErrFit says that points do not allow the fit that was asked for.
var ErrFit error = words.Kind("calibrate.fit")

// Fit is a curve through calibration points, by least squares, and how well it
// fits them.
type Fit struct {
	Curve
	Covariance [][]float64 // of the coefficients
	ResidualSD unit.Force  // √(Σr²/(n−p)), p coefficients
	RSquared   float64     // part of the variation of the force that the curve explains
	Freedom    int         // n−p
	Residuals  []unit.Force
	Points     []Point
	Lack       *Lack // nil where no force was applied twice

	low, high float64 // readings between which it was calibrated
	inverse   *mat.Dense
}

// FitCurve fits a polynomial of that degree, 1 to 3, of force on reading, by
// QR on readings scaled to −1 … 1. It wants more points than coefficients and
// more different readings than the degree.
func FitCurve(points []Point, degree int) (Fit, error) {
	if err := fittable(points, degree); err != nil {
		return Fit{}, err
	}
	f := Fit{Points: points, Freedom: len(points) - degree - 1}
	f.low, f.high = span(points)
	scaled, err := f.solve(degree)
	if err != nil {
		return Fit{}, err
	}
	f.rescale(scaled)
	f.sumUp(scaled)
	if err := f.Validate(); err != nil {
		return Fit{}, fmt.Errorf("%w: %w", ErrFit, err)
	}
	return f, nil
}

func fittable(points []Point, degree int) error {
	switch n := different(points); {
	case degree < 1 || degree > 3:
		return words.Error("calibrate.fit.degree", ErrFit, degree)
	case len(points) < degree+2:
		return fmt.Errorf("%w: %s", ErrFit, words.Count("calibrate.fit.few", len(points), degree, degree+2))
	case n < degree+1:
		return fmt.Errorf("%w: %s", ErrFit, words.Count("calibrate.fit.same", n, degree, degree+1))
	}
	return nil
}

func different(points []Point) int {
	at := map[float64]bool{}
	for _, p := range points {
		at[p.Reading] = true
	}
	return len(at)
}

func span(points []Point) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, p := range points {
		low, high = min(low, p.Reading), max(high, p.Reading)
	}
	return low, high
}

// middle and half are the scale of the readings.
func (f *Fit) middle() float64 { return f.low + f.half() }
func (f *Fit) half() float64   { return f.high/2 - f.low/2 }

// powers is 1, z, z², … at the scaled reading z.
func (f *Fit) powers(reading float64, n int) []float64 {
	z := (reading - f.middle()) / f.half()
	p := make([]float64, n)
	for i := range p {
		p[i] = math.Pow(z, float64(i))
	}
	return p
}

// solve gives the coefficients on the scaled readings, and keeps (RᵀR)⁻¹.
func (f *Fit) solve(degree int) (*mat.VecDense, error) {
	n, k := len(f.Points), degree+1
	design, force := mat.NewDense(n, k, nil), mat.NewVecDense(n, nil)
	for i, p := range f.Points {
		design.SetRow(i, f.powers(p.Reading, k))
		force.SetVec(i, float64(p.Force))
	}
	var qr mat.QR
	qr.Factorize(design)
	scaled := mat.NewVecDense(k, nil)
	if err := qr.SolveVecTo(scaled, false, force); err != nil {
		return nil, words.Error("calibrate.fit.apart", ErrFit, err)
	}
	var full mat.Dense
	qr.RTo(&full)
	var r, inverse mat.Dense
	r.CloneFrom(full.Slice(0, k, 0, k))
	if err := inverse.Inverse(&r); err != nil {
		return nil, words.Error("calibrate.fit.apart", ErrFit, err)
	}
	f.inverse = mat.NewDense(k, k, nil)
	f.inverse.Mul(&inverse, inverse.T())
	return scaled, nil
}

// back turns coefficients on z = (x−m)/h into those on x: the column j holds
// what ((x−m)/h)^j is in powers of x.
func (f *Fit) back(k int) *mat.Dense {
	t := mat.NewDense(k, k, nil)
	m, h := f.middle(), f.half()
	for j := range k {
		binomial := 1.0
		for i := j; i >= 0; i-- {
			t.Set(i, j, binomial*math.Pow(-m, float64(j-i))/math.Pow(h, float64(j)))
			binomial *= float64(i) / float64(j-i+1)
		}
	}
	return t
}

func (f *Fit) rescale(scaled *mat.VecDense) {
	var b mat.VecDense
	b.MulVec(f.back(scaled.Len()), scaled)
	f.Coefficients = slices.Clone(b.RawVector().Data)
}

// sumUp fills in what the residuals say. They are taken on the scaled
// readings, where nothing cancels.
func (f *Fit) sumUp(scaled *mat.VecDense) {
	k := scaled.Len()
	mean := 0.0
	for _, p := range f.Points {
		mean += float64(p.Force) / float64(len(f.Points))
	}
	var squares, total float64
	for _, p := range f.Points {
		r := float64(p.Force) - mat.Dot(scaled, mat.NewVecDense(k, f.powers(p.Reading, k)))
		f.Residuals = append(f.Residuals, unit.Force(r))
		squares += r * r
		total += (float64(p.Force) - mean) * (float64(p.Force) - mean)
	}
	f.ResidualSD = unit.Force(math.Sqrt(squares / float64(f.Freedom)))
	if total > 0 {
		f.RSquared = 1 - squares/total
	}
	f.covary(k, squares/float64(f.Freedom))
	f.Lack = f.lack()
}

func (f *Fit) covary(k int, variance float64) {
	var half, cov mat.Dense
	t := f.back(k)
	half.Mul(t, f.inverse)
	cov.Mul(&half, t.T())
	cov.Scale(variance, &cov)
	for i := range k {
		f.Covariance = append(f.Covariance, slices.Clone(cov.RawRowView(i)))
	}
}

// Degree is the degree of the polynomial.
func (f Fit) Degree() int { return len(f.Coefficients) - 1 }

// CoefficientSD gives the standard deviations of the coefficients.
func (f Fit) CoefficientSD() []float64 {
	sd := make([]float64, len(f.Coefficients))
	for i := range sd {
		sd[i] = math.Sqrt(f.Covariance[i][i])
	}
	return sd
}

// Readings gives the readings between which the curve was calibrated.
func (f Fit) Readings() (low, high float64) { return f.low, f.high }

// Inside tells whether a reading lies in the calibrated range; outside it the
// curve is extrapolated.
func (f Fit) Inside(reading float64) bool { return f.low <= reading && reading <= f.high }

// squares is the sum of the squared residuals.
func (f Fit) squares() float64 {
	return float64(f.ResidualSD) * float64(f.ResidualSD) * float64(f.Freedom)
}
