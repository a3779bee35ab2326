// Package gear describes the items that carry a pull and what they are rated
// for, on whatever basis the maker stamped.
package gear

import "tautlog/calc/unit"

// Kind is what an item is.
type Kind string

// Basis is what a stamped number means.
type Basis string

// The bases.
const (
	WLL     Basis = "WLL"     // working load limit
	MBS     Basis = "MBS"     // minimum breaking strength
	Proof   Basis = "proof"   // proof load
	Unknown Basis = "unknown" // a stamped number that does not say what it is
)

// Rating is one number that an item is rated at.
type Rating struct {
	Value unit.Force `json:"value"`
	Basis Basis      `json:"basis"`
}

// Item is one piece of gear.
type Item struct {
	ID      string   `json:"id"`
	Name    string   `json:"name"`
	Kind    Kind     `json:"kind"`
	Ratings []Rating `json:"ratings"`
}
