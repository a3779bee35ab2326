package unit

import "strconv"

// The text form of a quantity, in files and settings, is its SI value with
// the SI unit, printed so that it reads back to the same bits.

// MarshalText writes the force in newtons, "12000N".
func (f Force) MarshalText() ([]byte, error) { return exact(float64(f), "N"), nil }

// UnmarshalText reads any form that ParseForce reads.
func (f *Force) UnmarshalText(b []byte) (err error) { *f, err = keep(*f, b, ParseForce); return err }

// MarshalText writes the mass in kilograms.
func (m Mass) MarshalText() ([]byte, error) { return exact(float64(m), "kg"), nil }

// UnmarshalText reads any form that ParseMass reads.
func (m *Mass) UnmarshalText(b []byte) (err error) { *m, err = keep(*m, b, ParseMass); return err }

// MarshalText writes the length in metres.
func (l Length) MarshalText() ([]byte, error) { return exact(float64(l), "m"), nil }

// UnmarshalText reads any form that ParseLength reads.
func (l *Length) UnmarshalText(b []byte) (err error) { *l, err = keep(*l, b, ParseLength); return err }

// MarshalText writes the speed in metres per second.
func (s Speed) MarshalText() ([]byte, error) { return exact(float64(s), "m/s"), nil }

// UnmarshalText reads any form that ParseSpeed reads.
func (s *Speed) UnmarshalText(b []byte) (err error) { *s, err = keep(*s, b, ParseSpeed); return err }

// MarshalText writes the angle in radians.
func (a Angle) MarshalText() ([]byte, error) { return exact(float64(a), "rad"), nil }

// UnmarshalText reads any form that ParseAngle reads.
func (a *Angle) UnmarshalText(b []byte) (err error) { *a, err = keep(*a, b, ParseAngle); return err }

// MarshalText writes the stiffness in newtons per metre.
func (k Stiffness) MarshalText() ([]byte, error) { return exact(float64(k), "N/m"), nil }

// UnmarshalText reads any form that ParseStiffness reads.
func (k *Stiffness) UnmarshalText(b []byte) (err error) {
	*k, err = keep(*k, b, ParseStiffness)
	return err
}

// keep reads b, or leaves old as it was.
func keep[T any](old T, b []byte, read func(string) (T, error)) (T, error) {
	v, err := read(string(b))
	if err != nil {
		return old, err
	}
	return v, nil
}

func exact(v float64, name string) []byte {
	return append(strconv.AppendFloat(nil, v, 'g', -1, 64), name...)
}
