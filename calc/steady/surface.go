package steady

import (
	"slices"
	"strings"

	"tautlog/calc/words"
)

// Row is what one source says of a surface: the coefficient by which the
// weight is multiplied.
type Row struct {
	Words  string // the surface as the source calls it
	For    string // the vehicles that it is for; empty where it does not say
	Values Share
	Source Source
}

// Surface is a ground to roll on with all that the sources say of it.
type Surface struct {
	Name string
	Also []string // other names by which it is found
	Rows []Row
}

// Words is the name of the surface for people. Its Name is what they type.
func (s Surface) Words() string { return words.Say("steady.surface." + s.Name) }

// Coefficient spans all sources.
func (s Surface) Coefficient() Share {
	low, high := s.Rows[0].Values.Low, s.Rows[0].Values.High
	for _, r := range s.Rows[1:] {
		low, high = min(low, r.Values.Low), max(high, r.Values.High)
	}
	return Between(low, high)
}

// Conflict tells whether two sources have no value in common.
func (s Surface) Conflict() bool {
	low, high := s.Rows[0].Values.Low, s.Rows[0].Values.High
	for _, r := range s.Rows[1:] {
		low, high = max(low, r.Values.Low), min(high, r.Values.High)
	}
	return low > high
}

// ErrSurface says that no surface goes by a name.
var ErrSurface error = words.Kind("steady.unknown-surface")

// SurfaceError is a refused name of a surface, in words for people.
type SurfaceError struct {
	Name  string
	Known []string // the names to use instead
	// Why is the reason where it is a surface of which no source gives a
	// coefficient.
	Why string
}

// Error says what was refused and lists the names.
func (e *SurfaceError) Error() string {
	why := words.Say("steady.surfaces.unknown")
	if e.Why != "" {
		why = e.Why
	}
	return words.Say("steady.surfaces.are", e.Name, why, strings.Join(e.Known, ", "))
}

// Unwrap gives ErrSurface.
func (e *SurfaceError) Unwrap() error { return ErrSurface }

// SurfaceNamed finds a surface by one of its names, without regard to case;
// hyphens and underscores count as spaces.
func SurfaceNamed(name string) (Surface, error) {
	all := Surfaces()
	want := plainName(name)
	for _, s := range all {
		if s.Name == want || slices.Contains(s.Also, want) {
			return s, nil
		}
	}
	e := &SurfaceError{Name: name}
	for _, s := range all {
		e.Known = append(e.Known, s.Name)
	}
	for _, w := range []string{"mud", "silt", "bog", "grass", "clay"} {
		if strings.Contains(want, w) {
			e.Why = words.Say("steady.surfaces.nocoefficient")
		}
	}
	return Surface{}, e
}

func plainName(s string) string {
	return strings.Join(strings.Fields(strings.NewReplacer("-", " ", "_", " ").Replace(strings.ToLower(s))), " ")
}
