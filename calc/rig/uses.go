package rig

import (
	"slices"
	"strings"
)

// Uses lists every item of the rig as it is written down, in the order of the
// chain, of a rig that cannot be solved as well. What the items carry is in
// Places.
func (r Rig) Uses() []Use {
	var out []Use
	for _, l := range r.Chain {
		out = append(out, l.uses()...)
	}
	return out
}

func (l Link) uses() []Use {
	switch {
	case l.Use != nil:
		return []Use{*l.Use}
	case l.Bridle != nil:
		var strap []Use
		if l.Bridle.Strap != nil {
			strap = []Use{*l.Bridle.Strap}
		}
		return slices.Concat(strap, l.Bridle.Left, l.Bridle.Right)
	case l.Redirect != nil:
		return l.Redirect.Block
	case l.Tackle != nil:
		return slices.Concat(l.Tackle.Fall, slices.Concat(l.Tackle.Sheaves...), l.Tackle.Dead)
	}
	return nil
}

// OfItsPoint says that the place is the mounting that is recorded with a
// point, and no item of its own.
func (p Place) OfItsPoint() bool { return strings.HasSuffix(p.Ref, OwnMounting) }
