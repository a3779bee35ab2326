package gear

import "slices"

// Kind is what an item is, in the trade's words.
type Kind string

// The kinds of gear.
const (
	// RecoveryPoint is a point made and rated for recovery.
	RecoveryPoint Kind = "recovery point"
	// TieDown is a factory tie-down. It is never a recovery point.
	TieDown Kind = "tie-down"
	// TowEye is a factory tow eye. It is never a recovery point.
	TowEye Kind = "tow eye"
	// TowBall is the ball of a tow bar. It is never a recovery point.
	TowBall Kind = "tow ball"
	// HitchReceiver is the receiver tube of a tow bar, or an insert in it.
	HitchReceiver Kind = "hitch receiver"
	// Mounting is what holds a point to the vehicle: bolts, plates, chassis.
	Mounting Kind = "mounting"
	// BowShackle is a steel bow (anchor) or dee shackle.
	BowShackle Kind = "bow shackle"
	// SoftShackle is a shackle of fibre rope.
	SoftShackle Kind = "soft shackle"
	// RecoveryStrap is a strap that stretches, for kinetic pulls.
	RecoveryStrap Kind = "recovery strap"
	// KineticRope is a rope that stretches, for kinetic pulls.
	KineticRope Kind = "kinetic rope"
	// TowStrap is a strap for towing, which hardly stretches.
	TowStrap Kind = "tow strap"
	// ExtensionStrap lengthens a winch line and hardly stretches.
	ExtensionStrap Kind = "extension strap"
	// TreeStrap goes around a tree or another anchor.
	TreeStrap Kind = "tree strap"
	// Bridle is a strap or rope that spreads a pull over two points. Its
	// ratings are those of one leg.
	Bridle Kind = "bridle"
	// Chain is a chain, or a leg of one.
	Chain Kind = "chain"
	// Winch is the winch itself. Its WLL is its rated line pull.
	Winch Kind = "winch"
	// WinchRope is a wire or fibre rope of a winch.
	WinchRope Kind = "winch rope"
	// Block is a snatch block, sheave included.
	Block Kind = "block"
	// Ring is a recovery ring, a soft shackle's companion to a block.
	Ring Kind = "ring"
	// Hook is a hook of any pattern.
	Hook Kind = "hook"
	// GroundAnchor is anything that holds in the ground: a driven picket, a
	// buried plate, a tree.
	GroundAnchor Kind = "ground anchor"
	// LoadCell is the cell that measures the pull, with its end fittings.
	LoadCell Kind = "load cell"
	// Damper lies on the line. It carries nothing.
	Damper Kind = "damper"
	// Other is anything else that carries the pull.
	Other Kind = "other"
)

// Kinds lists every kind, in the order in which to offer them.
func Kinds() []Kind {
	return []Kind{
		RecoveryPoint, Mounting, HitchReceiver, TieDown, TowEye, TowBall,
		BowShackle, SoftShackle, RecoveryStrap, KineticRope, TowStrap, ExtensionStrap, TreeStrap,
		Bridle, Chain, Winch, WinchRope, Block, Ring, Hook, GroundAnchor, LoadCell, Damper, Other,
	}
}

// Known says whether k is one of Kinds.
func (k Kind) Known() bool { return slices.Contains(Kinds(), k) }

// NeverRecovery says that nothing stamped on such an item is a recovery
// rating: factory tie-downs, tow eyes and tow balls.
//
// Sources: mandatory warning text of the Australian consumer safety standard
// for recovery straps (2017); coroner's finding, Tasmania 2009.
func (k Kind) NeverRecovery() bool { return k == TieDown || k == TowEye || k == TowBall }

// Fixed says that the item cannot turn into the line of pull, so that the
// angle of the line at it matters and has to be known.
func (k Kind) Fixed() bool {
	return slices.Contains([]Kind{RecoveryPoint, Mounting, HitchReceiver, TieDown, TowEye, TowBall, GroundAnchor}, k)
}

// Flexible says that the item is of fibre or links and lies in the line by
// itself, so that no angle at it matters.
func (k Kind) Flexible() bool {
	return slices.Contains([]Kind{SoftShackle, RecoveryStrap, KineticRope, TowStrap, ExtensionStrap, TreeStrap, Bridle, Chain, WinchRope}, k)
}

// Point says that the item is a place on a vehicle to which gear is attached.
func (k Kind) Point() bool {
	return k == RecoveryPoint || k == HitchReceiver || k.NeverRecovery()
}

// Stretches says that the item is made to stretch, for kinetic pulls.
func (k Kind) Stretches() bool { return k == RecoveryStrap || k == KineticRope }

// KineticMisuse says that such an item does not belong in a kinetic pull:
// what hardly stretches, and winches and their ropes, turn it into a jerk.
//
// Sources: NZ strap guide (no tow strap for a snatch); US state off-road
// course (no snatch on chain, wire or winch).
func (k Kind) KineticMisuse() bool {
	return k == TowStrap || k == Chain || k == Winch || k == WinchRope
}
