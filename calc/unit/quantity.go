package unit

import "math"

// Force is a force in newtons. The zero value is no force; unknown forces are
// expressed by the holder (a pointer or a flag), never by zero or NaN.
type Force float64

// Mass is a mass in kilograms.
type Mass float64

// Length is a length in metres.
type Length float64

// Speed is a speed in metres per second.
type Speed float64

// Angle is a plane angle in radians.
type Angle float64

// Stiffness is a force per stretch in newtons per metre.
type Stiffness float64

const (
	// StandardGravity is the conventional acceleration of free fall in m/s²,
	// exact by definition (3rd CGPM, 1901).
	StandardGravity = 9.80665

	// PoundForce is one pound-force in newtons, exact: the international
	// avoirdupois pound of 0.45359237 kg times standard gravity.
	PoundForce Force = 4.4482216152605

	// KilogramForce is one kilogram-force in newtons, exact.
	KilogramForce Force = StandardGravity

	// TonneForce is one tonne-force in newtons, exact.
	TonneForce Force = 1000 * StandardGravity
)

// Weight is the force of standard gravity on m.
func (m Mass) Weight() Force { return Force(float64(m) * StandardGravity) }

// Degrees gives the angle in degrees.
func (a Angle) Degrees() float64 { return float64(a) * 180 / math.Pi }

// Degrees makes an angle of d degrees.
func Degrees(d float64) Angle { return Angle(d * math.Pi / 180) }

// Finite is the force as a number in newtons; nil where JSON has none for it,
// because it is infinite or no number.
func (f Force) Finite() *float64 {
	v := float64(f)
	if math.IsInf(v, 0) || math.IsNaN(v) {
		return nil
	}
	return &v
}
