package kinetic

import (
	"math"

	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Strap is a strap or rope made to stretch, as its label, its maker or a
// measurement describes it. How it stretches is told in just one way: by
// Stiffness, by Elongation, or by Points.
type Strap struct {
	Length unit.Length // unstretched; 0: not known
	MBS    unit.Force  // minimum breaking strength, dry; 0: not known

	// Stiffness is the force per stretch of a line that counts as linear.
	Stiffness unit.Stiffness
	// Elongation is the part of Length by which the load At stretches the
	// strap; an At of 0 is the breaking strength. See Secant.
	Elongation float64
	At         unit.Force
	// Points are what was measured on first loading. See NewMeasured.
	Points []Point

	// Loss is the share of the work of loading that is not given back. See
	// Line.
	Loss float64

	// Wet says that the strap is wet and of nylon; see WetNylon.
	Wet bool
	// WetStiffness is how many times its dry stiffness the wet strap has, as
	// measured. 0: not known, and then it counts as stiff as dry: the
	// instructions of Australian straps say that a wet strap stretches less,
	// without a figure.
	WetStiffness float64
}

// WetNylon is the part of its dry strength with which wet nylon is counted:
// UFC 4-159-03 (2005), table 6-8, asks to reduce it by 15 %.
const WetNylon = 0.85

// Strength is the force at which the strap must be expected to break: its MBS,
// less what nylon loses wet. 0: not known.
func (s Strap) Strength() unit.Force {
	if s.Wet {
		return s.MBS * WetNylon
	}
	return s.MBS
}

// Line is the strap as a line for a Pull.
func (s Strap) Line() (Line, error) { return s.stiffened(1) }

// Validate refuses a strap that is described in no way or in more than one,
// and quantities that make no sense.
func (s Strap) Validate() error {
	if n := s.ways(); n != 1 {
		return words.Error("kinetic.strap.twice", ErrPull, n)
	}
	checks := []struct {
		name  string
		value float64
		ok    bool
	}{
		{"length", float64(s.Length), s.Length >= 0},
		{"mbs", float64(s.MBS), s.MBS >= 0},
		{"stiffness", float64(s.Stiffness), s.Stiffness >= 0},
		{"elongation", s.Elongation, s.Elongation >= 0},
		{"at", float64(s.At), s.At >= 0},
		{"wet", s.WetStiffness, s.WetStiffness >= 0},
	}
	for _, c := range checks {
		if !c.ok || math.IsInf(c.value, 0) {
			return words.Error("kinetic.cannot-be", ErrPull, words.Say("kinetic.name."+c.name), c.value)
		}
	}
	switch {
	case s.WetStiffness > 0 && !s.Wet:
		return words.Error("kinetic.wet.dry", ErrPull)
	case s.Elongation > 0 && s.Length == 0:
		return words.Error("kinetic.elongation.nolength", ErrPull)
	case s.Elongation > 0 && s.elongatedBy() == 0:
		return words.Error("kinetic.elongation.noload", ErrPull)
	}
	return nil
}

func (s Strap) ways() (n int) {
	for _, told := range []bool{s.Stiffness != 0, s.Elongation != 0, len(s.Points) > 0} {
		if told {
			n++
		}
	}
	return n
}

// elongatedBy is the load at which the strap has its elongation.
func (s Strap) elongatedBy() unit.Force {
	if s.At > 0 {
		return s.At
	}
	return s.MBS
}

// reach is the greatest force up to which the strap's stretch is known from
// something other than a guess. 0: a bare stiffness does not say.
func (s Strap) reach() unit.Force {
	switch {
	case s.Elongation > 0:
		return s.elongatedBy()
	case len(s.Points) > 0:
		return s.Points[len(s.Points)-1].Force
	}
	return 0
}

// stiffened is the strap as a line that pulls so many times harder at every
// stretch.
func (s Strap) stiffened(times float64) (Line, error) {
	if err := s.Validate(); err != nil {
		return Line{}, err
	}
	if s.WetStiffness > 0 {
		times *= s.WetStiffness
	}
	line := Line{Loss: s.Loss}
	switch {
	case s.Stiffness > 0:
		line.Curve = Linear(float64(s.Stiffness) * times)
	case s.Elongation > 0:
		line.Curve = Linear(float64(Secant(s.elongatedBy(), s.Elongation, s.Length)) * times)
	default:
		points := make([]Point, len(s.Points))
		for i, p := range s.Points {
			points[i] = Point{p.Stretch, p.Force * unit.Force(times)}
		}
		measured, err := NewMeasured(points)
		if err != nil {
			return Line{}, err
		}
		line.Curve = measured
	}
	return line, line.Validate()
}
