package gear

import (
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Item is one piece of gear.
type Item struct {
	// ID tells items apart in a register. It may be empty in a rig file.
	ID string `json:"id,omitempty"`
	// Name is what people call it: "blue strap 9 m".
	Name string `json:"name"`
	// Kind is what it is.
	Kind Kind `json:"kind"`
	// Ratings are the numbers it is rated at. Empty: no rating is known.
	Ratings []Rating `json:"ratings,omitempty"`
	// Vehicle is the ID or name of the vehicle that it is fixed to.
	Vehicle string `json:"vehicle,omitempty"`
	// Where is where on the vehicle it is: "rear left".
	Where string `json:"where,omitempty"`
	// Length is the unstretched length of a strap or rope.
	Length *unit.Length `json:"length,omitempty"`
	// Mass is the mass of the item itself.
	Mass *unit.Mass `json:"mass,omitempty"`
	// Stiffness is the force per stretch of a strap or rope in the range in
	// which it is used.
	Stiffness *unit.Stiffness `json:"stiffness,omitempty"`
	// Maker and Serial are what the label says.
	Maker  string `json:"maker,omitempty"`
	Serial string `json:"serial,omitempty"`
	// Made and Inspected are dates, "2026-03-14" or as much of one as is
	// known ("2026").
	Made      string `json:"made,omitempty"`
	Inspected string `json:"inspected,omitempty"`
	// Fixing is how a point is held to its vehicle, or what is known of a
	// mounting that is an item of its own.
	Fixing *Fixing `json:"mounting,omitempty"`
	Life
	// Notes are for people.
	Notes string `json:"notes,omitempty"`
}

// Held is the mounting of a point, as an item of its own: a chain is only as
// strong as it. It is false for what has no mounting recorded with it.
func (it Item) Held() (Item, bool) {
	if it.Fixing == nil || it.Kind == Mounting {
		return Item{}, false
	}
	return Item{Name: words.Say("item.mounting", it.Name), Kind: Mounting, Vehicle: it.Vehicle, Where: it.Where, Fixing: it.Fixing}, true
}

// Vehicle is what stands at one end of a rig: a vehicle, or an anchor that is
// called by a name and has no mass.
type Vehicle struct {
	// ID tells vehicles apart in a register.
	ID string `json:"id,omitempty"`
	// Name is what people call it.
	Name string `json:"name"`
	// GVM is the gross vehicle mass by its plate.
	GVM *unit.Mass `json:"gvm,omitempty"`
	// Kerb is the mass by its papers, empty but ready to drive.
	Kerb *unit.Mass `json:"kerb,omitempty"`
	// Weighed is the mass as weighed, loaded as it was used.
	Weighed *unit.Mass `json:"weighed,omitempty"`
	// WeighedWithin is by how much the true mass may be off from that in 95 of
	// 100 cases: what the scale and a change of load since leave open.
	WeighedWithin *unit.Mass `json:"weighed_within,omitempty"`
	// FullTurn is how far a line at the front may lie to the side when it
	// follows the front wheels at full turn.
	FullTurn *unit.Angle `json:"full_turn,omitempty"`
	// Wheelbase is the distance of the axles.
	Wheelbase *unit.Length `json:"wheelbase,omitempty"`
	// Notes are for people.
	Notes string `json:"notes,omitempty"`
}

// Stated is the lowest rating on a basis that is stated for the item alone, new
// and in any direction; 0 where none is. It is what an item is told by where no
// pull says how it hangs: a rating for a pair says nothing of one, and of two
// numbers the lower one is taken.
func (it Item) Stated(b Basis) (least unit.Force) {
	for _, r := range it.Ratings {
		if r.Basis == b && r.Together != Pair && (least == 0 || r.Value < least) {
			least = r.Value
		}
	}
	return least
}

// Ceiling is the lowest number that a rating of the item alone says must not be
// exceeded, in whatever direction: a working limit, or else what is stamped, a
// proof load or a breaking strength. Of what is rated as one of a pair only it is
// half of the pair's number, as for a leg that shares. It is 0 where there is none. Which rating
// speaks in a pull is Strength's to say; above this one an item wants a look.
func (it Item) Ceiling() unit.Force {
	var alone, paired unit.Force
	for _, r := range it.Ratings {
		least := &alone
		if r.Together == Pair {
			least = &paired
		}
		v, works := r.Working()
		if !works {
			v = r.Value
		}
		if v > 0 && (*least == 0 || v < *least) {
			*least = v
		}
	}
	if alone == 0 {
		return paired / 2
	}
	return alone
}

// StatedMBS is the breaking strength that is stated for the item; see Stated.
func (it Item) StatedMBS() unit.Force { return it.Stated(MBS) }
