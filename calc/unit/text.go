package unit

import (
	"slices"
	"strconv"
)

// The text form of a quantity, in files and settings, is the shortest that
// reads back to the same bits, in one of the units that people write it in:
// what was typed as 4.75t or 60deg leaves as that.

// MarshalText writes the force: "12kN", "4.75t".
func (f Force) MarshalText() ([]byte, error) {
	return exact(float64(f), forceScales, "kN", "N", "t", "kgf", "lbf"), nil
}

// UnmarshalText reads any form that ParseForce reads.
func (f *Force) UnmarshalText(b []byte) (err error) { *f, err = keep(*f, b, ParseForce); return err }

// MarshalText writes the mass: "3100kg", "5000lb".
func (m Mass) MarshalText() ([]byte, error) { return exact(float64(m), massScales, "kg", "lb"), nil }

// UnmarshalText reads any form that ParseMass reads.
func (m *Mass) UnmarshalText(b []byte) (err error) { *m, err = keep(*m, b, ParseMass); return err }

// MarshalText writes the length: "9m", "12mm", "30ft".
func (l Length) MarshalText() ([]byte, error) {
	return exact(float64(l), lengthScales, "m", "mm", "ft", "in"), nil
}

// UnmarshalText reads any form that ParseLength reads.
func (l *Length) UnmarshalText(b []byte) (err error) { *l, err = keep(*l, b, ParseLength); return err }

// MarshalText writes the speed: "2m/s", "8km/h".
func (s Speed) MarshalText() ([]byte, error) {
	return exact(float64(s), speedScales, "m/s", "km/h", "mph"), nil
}

// UnmarshalText reads any form that ParseSpeed reads.
func (s *Speed) UnmarshalText(b []byte) (err error) { *s, err = keep(*s, b, ParseSpeed); return err }

// MarshalText writes the angle: "60deg", or in radians where it is none of a
// few digits.
func (a Angle) MarshalText() ([]byte, error) {
	return exact(float64(a), angleScales, "deg", "rad"), nil
}

// UnmarshalText reads any form that ParseAngle reads.
func (a *Angle) UnmarshalText(b []byte) (err error) { *a, err = keep(*a, b, ParseAngle); return err }

// MarshalText writes the stiffness: "60kN/m".
func (k Stiffness) MarshalText() ([]byte, error) {
	return exact(float64(k), stiffnessScales, "kN/m", "N/m", "kgf/m", "lbf/ft"), nil
}

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

// exact is the shortest text of v that reads back to the same bits in one of
// the units, of which one is worth 1; of texts of one length, that of the
// earlier unit.
func exact(v float64, scales []scale, units ...string) (best []byte) {
	for _, name := range units {
		i := slices.IndexFunc(scales, func(s scale) bool { return s.name == name })
		n := v / scales[i].value
		// The quotient is rounded: 4.75 t may come out a bit beside 4.75, which twelve
		// digits mend.
		for _, number := range []string{strconv.FormatFloat(n, 'g', -1, 64), strconv.FormatFloat(n, 'g', 12, 64)} {
			back, err := strconv.ParseFloat(number, 64)
			if err == nil && back*scales[i].value == v && (best == nil || len(number+name) < len(best)) {
				best = []byte(number + name)
			}
		}
	}
	return best
}
