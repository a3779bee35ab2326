package plan

import (
	"strings"

	"tautlog/analysis/shock"
	"tautlog/calc/gear"
	"tautlog/calc/kinetic"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// ErrMissing says that too little is known of a pull to plan it.
var ErrMissing error = words.Kind("forecast.unplannable")

// MissingError lists what is neither given nor known from the rig.
type MissingError struct {
	// What lists Puller, Stuck and Line.
	What []string
}

// What may be missing.
const (
	Puller = "puller" // its mass
	Stuck  = "stuck"  // the mass of the stuck vehicle
	Line   = "line"   // how it stretches
)

// Error lists it.
func (e *MissingError) Error() string {
	var what []string
	for _, w := range e.What {
		what = append(what, words.Say("forecast.missing."+w))
	}
	return words.Say("forecast.missing", ErrMissing, strings.Join(what, ", "))
}

// Unwrap gives ErrMissing.
func (e *MissingError) Unwrap() error { return ErrMissing }

// Kinetic is a planned kinetic pull with all that there is to go by.
type Kinetic struct {
	// Plan is the pull. A mass, and what is not told of the strap, is taken from
	// the rig where there is one: a vehicle's mass as weighed, or else its GVM;
	// length, breaking strength and stiffness of the first item that stretches.
	// Where nothing tells how the strap stretches, the set does; see KnownStretch.
	Plan kinetic.Plan
	// Strap and Ground are the class in the set. An empty Strap is the name or
	// the kind of the rig's item, whichever the set knows.
	Strap, Ground string
	// Rig is the gear; nil: none, and nothing is judged.
	Rig *rig.Rig
	// With is the set of multipliers to plan with.
	With shock.Kept
	// Reference is the mass of whose weight multipliers are; 0 is that of the
	// stuck vehicle.
	Reference unit.Mass
	// On is the day of the pull, "2026-03-14"; empty: what depends on the day
	// (an inspection that was due, age) is not remarked on.
	On string
	// Unit is the unit in which sentences are written; empty is kN.
	Unit unit.ForceUnit
}

// filled takes from the rig what is not given, and says what it took.
func (k Kinetic) filled() (Kinetic, gear.Item, []string, error) {
	var strap gear.Item
	var notes []string
	if k.Unit == "" {
		k.Unit = unit.DefaultShown
	}
	if k.Rig != nil {
		if _, err := k.Rig.LinePlaces(""); err != nil {
			return k, strap, nil, err
		}
		notes = append(notes, Mass(&k.Plan.Puller, k.Rig.Pulling)...)
		notes = append(notes, Mass(&k.Plan.Stuck, k.Rig.Stuck)...)
		if p, ok := k.Rig.Stretching(); ok {
			strap = p.Use.Item
			notes = append(notes, stretching(&k.Plan.Strap, strap)...)
		} else {
			notes = append(notes, words.Say("forecast.strap.none"))
		}
	}
	notes = append(notes, k.stretchOfSet()...)
	if k.Reference == 0 {
		k.Reference = k.Plan.Stuck
	}
	return k, strap, notes, k.missing()
}

func (k Kinetic) missing() error {
	var what []string
	if k.Plan.Puller == 0 {
		what = append(what, Puller)
	}
	if k.Plan.Stuck == 0 {
		what = append(what, Stuck)
	}
	if !told(k.Plan.Strap) {
		what = append(what, Line)
	}
	if len(what) > 0 {
		return &MissingError{what}
	}
	return nil
}

// told says whether it is told how the strap stretches.
func told(s kinetic.Strap) bool { return s.Stiffness != 0 || s.Elongation != 0 || len(s.Points) > 0 }

// Mass takes that of a vehicle where none is given, as weighed or else its GVM,
// and says which in a sentence.
func Mass(into *unit.Mass, v gear.Vehicle) []string {
	switch {
	case *into != 0:
	case v.Weighed != nil:
		*into = *v.Weighed
		return []string{words.Say("forecast.mass.weighed", v.Name, *into)}
	case v.GVM != nil:
		*into = *v.GVM
		return []string{words.Say("forecast.mass.gvm", v.Name, *into)}
	}
	return nil
}

// stretching takes what is not told of the strap from the item, and says so.
func stretching(s *kinetic.Strap, it gear.Item) []string {
	var took []string
	if s.Length == 0 && it.Length != nil {
		s.Length = *it.Length
		took = append(took, words.Say("forecast.long", s.Length))
	}
	if mbs := it.StatedMBS(); s.MBS == 0 && mbs != 0 {
		s.MBS = mbs
		took = append(took, words.Say("forecast.mbs", mbs))
	}
	if !told(*s) && it.Stiffness != nil {
		s.Stiffness = *it.Stiffness
		took = append(took, words.Say("forecast.stiffness", s.Stiffness))
	}
	if len(took) == 0 {
		return nil
	}
	return []string{words.Say("forecast.line", it.Name, strings.Join(took, ", "))}
}
