package kinetic

import (
	"math"

	"gonum.org/v1/gonum/interp"

	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Curve is the force of a line on first loading. Both functions are asked
// with x ≥ 0 in metres only. Force must rise with x from nothing at x = 0.
type Curve interface {
	// Force is the force in newtons at the stretch x.
	Force(x float64) float64
	// Energy is the work in joules of loading from slack to the stretch x,
	// the integral of Force.
	Energy(x float64) float64
}

// ErrCurve says that points are no loading curve of a line.
var ErrCurve error = words.Kind("kinetic.points")

// Linear is a line whose force is proportional to its stretch.
type Linear unit.Stiffness

// Force is k·x.
func (k Linear) Force(x float64) float64 { return float64(k) * x }

// Energy is ½·k·x².
func (k Linear) Energy(x float64) float64 { return float64(k) * x * x / 2 }

// Secant is the stiffness of a line of the given length that is elongated by
// the fraction elongation at the load: k = load / (elongation · length). With
// the breaking strength as the load it is the secant to the breaking point
// (elementary; UFC 4-159-03 table 6-8 gives k = AE/L for nylon double braid
// with AE near 3.54 times the breaking strength, which is an elongation of
// 0.282 at break).
//
// It is a first estimate: nylon stiffens with load, and with use.
func Secant(load unit.Force, elongation float64, length unit.Length) unit.Stiffness {
	return unit.Stiffness(float64(load) / (elongation * float64(length)))
}

// Point is one point of a measured loading curve.
type Point struct {
	Stretch unit.Length
	Force   unit.Force
}

// Measured is a smooth, monotone curve through measured points, starting
// slack at the origin. Beyond the last point it goes on straight, as steep as
// its end or its last piece, whichever is steeper: what it says there is a
// guess, and Solve reports that it was needed.
type Measured struct {
	x, f, slope, energy []float64
	beyond              float64 // slope beyond the last point
}

// NewMeasured makes a curve through points in rising order of stretch and
// force. The origin is added where it is missing. The pieces are cubics with
// the slopes of Fritsch and Butland (SIAM J. Sci. Stat. Comput. 5, 1984, 300),
// which do not overshoot between points.
func NewMeasured(points []Point) (*Measured, error) {
	m := &Measured{x: []float64{0}, f: []float64{0}}
	for i, p := range points {
		x, f := float64(p.Stretch), float64(p.Force)
		if i == 0 && x == 0 && f == 0 {
			continue
		}
		last := len(m.x) - 1
		if !(x > m.x[last] && f > m.f[last]) || math.IsInf(x, 0) || math.IsInf(f, 0) {
			return nil, words.Error("kinetic.points.order", ErrCurve, i+1, p.Stretch, p.Force)
		}
		m.x, m.f = append(m.x, x), append(m.f, f)
	}
	if len(m.x) < 2 {
		return nil, words.Error("kinetic.points.few", ErrCurve)
	}
	m.fit()
	return m, nil
}

func (m *Measured) fit() {
	m.slope = make([]float64, len(m.x))
	if len(m.x) == 2 {
		m.slope[0] = m.f[1] / m.x[1]
		m.slope[1] = m.slope[0]
	} else {
		var fb interp.FritschButland
		if err := fb.Fit(m.x, m.f); err != nil {
			panic("kinetic: " + err.Error()) // lengths are equal and at least 2
		}
		for i, x := range m.x {
			m.slope[i] = fb.PredictDerivative(x)
		}
	}
	last := len(m.x) - 1
	m.beyond = max(m.slope[last], (m.f[last]-m.f[last-1])/(m.x[last]-m.x[last-1]))
	m.energy = make([]float64, len(m.x))
	for i := 1; i < len(m.x); i++ {
		h := m.x[i] - m.x[i-1]
		m.energy[i] = m.energy[i-1] + m.pieceEnergy(i-1, h)
	}
}

// Range is the stretch of the last measured point.
func (m *Measured) Range() unit.Length { return unit.Length(m.x[len(m.x)-1]) }

// Force is the force on the curve at x.
func (m *Measured) Force(x float64) float64 {
	last := len(m.x) - 1
	if x >= m.x[last] {
		return m.f[last] + m.beyond*(x-m.x[last])
	}
	i := m.piece(x)
	c1, c2, c3 := m.cubic(i)
	d := x - m.x[i]
	return m.f[i] + d*(c1+d*(c2+d*c3))
}

// Energy is the integral of Force from 0 to x.
func (m *Measured) Energy(x float64) float64 {
	last := len(m.x) - 1
	if x >= m.x[last] {
		d := x - m.x[last]
		return m.energy[last] + d*(m.f[last]+m.beyond*d/2)
	}
	i := m.piece(x)
	return m.energy[i] + m.pieceEnergy(i, x-m.x[i])
}

// piece is the index of the point at or before x.
func (m *Measured) piece(x float64) int {
	i := 0
	for i < len(m.x)-2 && x >= m.x[i+1] {
		i++
	}
	return i
}

// cubic gives the coefficients of the piece that starts at point i.
func (m *Measured) cubic(i int) (c1, c2, c3 float64) {
	h := m.x[i+1] - m.x[i]
	chord := (m.f[i+1] - m.f[i]) / h
	a, b := m.slope[i], m.slope[i+1]
	return a, (3*chord - 2*a - b) / h, (a + b - 2*chord) / (h * h)
}

func (m *Measured) pieceEnergy(i int, d float64) float64 {
	c1, c2, c3 := m.cubic(i)
	return d * (m.f[i] + d*(c1/2+d*(c2/3+d*c3/4)))
}
