package gear

import (
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Mass is how heavy a vehicle was, and how well that is known.
type Mass struct {
	// Value is what it counts with; 0 where nothing is known.
	Value unit.Mass
	// Low to High is where the true mass lies in 95 of 100 cases; both 0 where
	// nobody said how well it is known. Nothing is assumed for it.
	Low, High unit.Mass
	// From says where the value is from, for people.
	From string
}

// Sure tells whether it is known how well the mass is known.
func (m Mass) Sure() bool { return m.High > 0 }

// MassSaid is a mass that somebody states, with half the width of its 95 %
// interval; nil where that is not known.
func MassSaid(m unit.Mass, within *unit.Mass, from string) Mass {
	out := Mass{Value: m, From: from}
	if within != nil {
		out.Low, out.High = m-*within, m+*within
	}
	return out
}

// Mass is that of the vehicle as weighed, or else its GVM. Of one that was not
// weighed all that is known are limits: it is no lighter than empty, and taken
// to be loaded to its GVM at most.
func (v Vehicle) Mass() Mass {
	switch {
	case v.Weighed != nil:
		return MassSaid(*v.Weighed, v.WeighedWithin, words.Say("item.mass.weighed"))
	case v.GVM != nil && v.Kerb != nil:
		return Mass{*v.GVM, *v.Kerb, *v.GVM, words.Say("item.mass.gvm")}
	case v.GVM != nil:
		return Mass{Value: *v.GVM, From: words.Say("item.mass.gvm")}
	}
	return Mass{}
}
