package gear

import "tautlog/calc/unit"

// Fixing is how a point is held to its vehicle: what is known of a mounting.
// What is not known is left out; nothing is assumed for it but what Estimate
// says that it assumed.
type Fixing struct {
	// Bolts are the groups of bolts, each of bolts that are alike.
	Bolts []Bolts `json:"bolts,omitempty"`
	// Plate is the thinnest plate that the bolts bear on.
	Plate *Plate `json:"plate,omitempty"`
	// Member is what it is bolted or welded to: "chassis rail, left",
	// "bumper bar only".
	Member string `json:"chassis_member,omitempty"`
	// Engineered says whether its maker engineered it for this vehicle, and
	// Tested whether the maker tested it on this vehicle.
	Engineered Answer `json:"engineered_for_vehicle,omitempty"`
	Tested     Answer `json:"tested_on_vehicle,omitempty"`
	// Proofs are the proof pulls that it has had.
	Proofs []ProofPull `json:"proof_pulls,omitempty"`
}

// MakersWord says that the maker engineered the mounting for this vehicle and
// tested it there, so that the rating of the point stands for the mounting
// too. One of the two is not enough.
func (f *Fixing) MakersWord() bool {
	return f != nil && f.Engineered == Yes && f.Tested == Yes
}

// Answer is yes, no, or not known.
type Answer string

// The answers.
const (
	NotKnown Answer = ""
	Yes      Answer = "yes"
	No       Answer = "no"
)

// String writes the answer for people.
func (a Answer) String() string {
	if a == NotKnown {
		return "unknown"
	}
	return string(a)
}

// UnmarshalText reads yes, no, unknown or nothing.
func (a *Answer) UnmarshalText(b []byte) error {
	if string(b) == NotKnown.String() {
		b = nil
	}
	return word(a, b, "answer", []Answer{Yes, No, NotKnown})
}

// Axis is how the axis of a bolt lies in the vehicle.
type Axis string

// The axes. With a pull straight off the vehicle, bolts along it are in
// tension and the others in shear; off the straight they are in both.
const (
	AxisUnknown Axis = ""
	Along       Axis = "along"   // fore and aft
	Across      Axis = "across"  // from side to side
	Upright     Axis = "upright" // up and down
)

// UnmarshalText reads an axis and refuses a word that is none.
func (x *Axis) UnmarshalText(b []byte) error {
	return word(x, b, "axis", []Axis{Along, Across, Upright, AxisUnknown})
}

// ShearPlane is where the joint cuts the bolt.
type ShearPlane string

// The shear planes.
const (
	PlaneUnknown ShearPlane = ""
	ThroughShank ShearPlane = "shank"
	ThroughTurns ShearPlane = "thread"
)

// UnmarshalText reads a shear plane and refuses a word that is none.
func (x *ShearPlane) UnmarshalText(b []byte) error {
	return word(x, b, "plane", []ShearPlane{ThroughTurns, ThroughShank, PlaneUnknown})
}

// Bolts is a group of bolts that are alike and loaded alike. Lengths that are
// nil and words that are empty are not known.
type Bolts struct {
	// Count is how many there are; 0: not known.
	Count int `json:"count,omitempty"`
	// Size is the thread, and Pitch its pitch; nil: taken as coarse, which
	// has the smaller area.
	Size  Thread       `json:"size,omitempty"`
	Pitch *unit.Length `json:"thread_pitch,omitempty"`
	// Class is the property class on the head; empty: no mark was found.
	Class PropertyClass `json:"property_class,omitempty"`
	// Plane is where the joint cuts them; not known: taken as the thread.
	Plane ShearPlane `json:"shear_plane,omitempty"`
	// Axis is how they lie in the vehicle.
	Axis Axis `json:"axis,omitempty"`
	// Lever is how far the line of pull lies from the face that they clamp,
	// or from their middle where they lie along the pull. It tips the
	// mounting, which the two outer rows, Rows apart, resist.
	Lever *unit.Length `json:"lever_arm,omitempty"`
	Rows  *unit.Length `json:"rows_apart,omitempty"`
	// Hole is the diameter of the holes.
	Hole *unit.Length `json:"hole,omitempty"`
	// End and Edge are from the middle of a hole to the end of the plate in
	// the direction of the pull, and to its side: e1 and e2.
	End  *unit.Length `json:"end_distance,omitempty"`
	Edge *unit.Length `json:"edge_distance,omitempty"`
	// Spacing and Gauge are between holes in the direction of the pull and
	// across it: p1 and p2.
	Spacing *unit.Length `json:"spacing,omitempty"`
	Gauge   *unit.Length `json:"spacing_across,omitempty"`
}

// Plate is what the bolts bear on.
type Plate struct {
	Thickness *unit.Length `json:"thickness,omitempty"`
	// Steel is its grade; empty: not known.
	Steel Steel `json:"steel,omitempty"`
}

// ProofPull is a ramp to a level, a hold and a release, as evidence.
type ProofPull struct {
	// Level is the force on the mounting.
	Level unit.Force `json:"level"`
	// Hold is for how many seconds it was held, and Decay the part of the
	// level that was lost meanwhile, 0.02 for 2 %.
	Hold  *float64 `json:"hold_s,omitempty"`
	Decay *float64 `json:"decay,omitempty"`
	// Set is how far it stayed bent or moved; zero: looked for and not found.
	Set *unit.Length `json:"set,omitempty"`
	// Date and Pull say which pull it was.
	Date Date   `json:"date,omitempty"`
	Pull string `json:"pull,omitempty"`
	// Notes are for people.
	Notes string `json:"notes,omitempty"`
}
