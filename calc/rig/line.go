package rig

import (
	"fmt"
	"slices"
)

// LinePlaces lists like Places every item of the rig with what it carries, but
// in relation to the pull in the line itself: F is the force at the place at,
// or, where at is empty, in the line as it is hauled: in the hauled part of a
// tackle, or else in the line at the end with the winch. That is what a planned
// pull has instead of a reading, so the rig needs no load cell. It gives the
// error of Validate, cells aside, for a rig that cannot be solved, and panics
// on a place that is not in the rig, which is a programmer's mistake.
func (r Rig) LinePlaces(at string) ([]Place, error) {
	if err := r.validate(false); err != nil {
		return nil, err
	}
	w := r.walk()
	w.share(w.hauled(at))
	return w.places(), nil
}

// hauled is what stands in for the cell in a planned pull.
func (w *walker) hauled(at string) found {
	if at != "" {
		i := slices.IndexFunc(w.found, func(f found) bool { return f.place.Ref == at })
		if i < 0 {
			panic(fmt.Sprintf("rig: no place %q", at))
		}
		return w.found[i]
	}
	switch {
	case w.tied:
		return found{load: w.fall}
	case w.rig.WinchAt == StuckEnd:
		return found{load: w.line}
	}
	return found{}
}

// Stretching is the first item of the rig that stretches in a kinetic pull, a
// kinetic rope or a recovery strap. It is false for a rig that has none and for
// one that cannot be solved.
func (r Rig) Stretching() (Place, bool) {
	places, err := r.LinePlaces("")
	if err != nil {
		return Place{}, false
	}
	i := slices.IndexFunc(places, func(p Place) bool { return p.Use.Item.Kind.Stretches() })
	if i < 0 {
		return Place{}, false
	}
	return places[i], true
}
