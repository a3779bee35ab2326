package rig

import (
	"tautlog/calc/gear"
	"tautlog/calc/unit"
)

// Side is one of the two ends of a rig.
type Side string

// The two ends.
const (
	PullingEnd Side = "pulling"
	StuckEnd   Side = "stuck"
)

// Rig is one chain of gear with all that is known of each item: a snapshot
// that needs no register to be read.
type Rig struct {
	// ID tells rigs apart in a register. It may be empty in a file.
	ID string `json:"id,omitempty"`
	// Name is what people call it.
	Name string `json:"name"`
	// Pulling and Stuck are what stands at the ends.
	Pulling gear.Vehicle `json:"pulling"`
	Stuck   gear.Vehicle `json:"stuck"`
	// WinchAt is the end from which the line is hauled: from there on each
	// sheave takes its loss. Empty means the pulling end.
	WinchAt Side `json:"winch_at,omitempty"`
	// Chain lists what lies between, from the pulling end to the stuck end.
	Chain []Link `json:"chain"`
	// Notes are for people.
	Notes string `json:"notes,omitempty"`
}

// Use is an item in its place.
type Use struct {
	// Item is the gear.
	Item gear.Item `json:"item"`
	// OffAxis is the angle between the line and the item's own axis. Nil: not
	// recorded.
	OffAxis *OffAxis `json:"off_axis,omitempty"`
	// Seat is how a shackle sits in its slot.
	Seat Seat `json:"seat,omitempty"`
}

// Seat is whether a shackle can turn into the line.
type Seat string

// The seats. A bound shackle without an angle of its own takes that of the
// point that it sits in, all of it as side load: a line in the plane of the
// bow bends a bow that cannot turn.
const (
	SeatUnknown Seat = ""
	FreeSeat    Seat = "free"
	BoundSeat   Seat = "bound"
)

// OffAxis is how far the line lies from an item's own axis. At a shackle it
// is the side load only: an angle within the plane of the bow is none. A part
// that is left out counts as in line.
type OffAxis struct {
	Horizontal *unit.Angle `json:"horizontal,omitempty"`
	Vertical   *unit.Angle `json:"vertical,omitempty"`
	// FullTurn says that the line lies to the side as far as the front
	// wheels turn, instead of a horizontal angle.
	FullTurn bool `json:"full_turn,omitempty"`
}

// Link is one link of the chain: exactly one of an item in line, a bridle, a
// redirect or a tackle.
type Link struct {
	*Use
	Bridle   *Bridle   `json:"bridle,omitempty"`
	Redirect *Redirect `json:"redirect,omitempty"`
	Tackle   *Tackle   `json:"tackle,omitempty"`
}

// InLine is a link of one item that carries the whole line.
func InLine(item gear.Item) Link { return Link{Use: &Use{Item: item}} }

// Bridle spreads the line over two points of a vehicle. It is the first or
// the last link of a chain.
type Bridle struct {
	// Included is the angle between the two legs.
	Included unit.Angle `json:"included_angle"`
	// OffAxis is the angle between the line and the vehicle's own axis. At
	// the points of the legs half the included angle comes on top, unless an
	// angle is recorded there.
	OffAxis *OffAxis `json:"off_axis,omitempty"`
	// Equaliser says that something lets the legs share: a running shackle,
	// a ring or a pulley. Without one, one leg may take all.
	Equaliser bool `json:"equaliser"`
	// Strap is the bridle itself where one strap makes both legs. Its
	// ratings are those of one leg.
	Strap *Use `json:"strap,omitempty"`
	// Left and Right are the items of each leg as the driver of that vehicle
	// has them to the left and right, in the order of the chain.
	Left  []Use `json:"left"`
	Right []Use `json:"right"`
}

// Redirect bends the line around a block.
type Redirect struct {
	// Included is the angle between the two lines at the block: 0 where the
	// line comes back on itself, 180° where it runs straight through.
	Included unit.Angle `json:"included_angle"`
	// Loss is the part of the line pull that the sheave takes, 0.1 for 10 %.
	// Nil: not known; the shares are then without loss.
	Loss *float64 `json:"sheave_loss,omitempty"`
	// Block lists the block and what anchors it, from the line outwards.
	Block []Use `json:"block"`
}

// Tackle is one line laid several times between the two sides.
type Tackle struct {
	// Parts is the number of line parts, 2 or more.
	Parts int `json:"parts"`
	// Loss is the part of the line pull that each sheave takes, 0.1 for
	// 10 %. Nil: not known; the shares are then without loss.
	Loss *float64 `json:"sheave_loss,omitempty"`
	// Fall lists the winch and what else is on the part that is hauled.
	Fall []Use `json:"fall"`
	// Sheaves lists, for each of the Parts-1 sheaves in the order in which
	// the line runs from the winch, the block and what holds it. The first
	// is at the far side from the winch.
	Sheaves [][]Use `json:"sheaves"`
	// Dead lists what the dead end of the line is made fast to.
	Dead []Use `json:"dead,omitempty"`
}
