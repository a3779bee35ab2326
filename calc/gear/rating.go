package gear

import (
	"fmt"
	"strings"

	"tautlog/calc/unit"
)

// Basis is what a rated number means.
type Basis string

// The bases.
const (
	// WLL is a working load limit.
	WLL Basis = "WLL"
	// MBS is a minimum breaking strength.
	MBS Basis = "MBS"
	// Proof is a load that was applied once in a test. It is no working
	// limit.
	Proof Basis = "proof load"
	// Unknown is a stamped number that does not say what it is.
	Unknown Basis = "unknown"
)

// Bases lists every basis, in the order in which to offer them.
func Bases() []Basis { return []Basis{WLL, MBS, Proof, Unknown} }

// Together says whether a rating is for one item or for a pair of them.
type Together string

// How many items a rating is for.
const (
	// TogetherUnstated: the maker does not say; the rating is taken as that
	// of one item.
	TogetherUnstated Together = ""
	// Alone: the rating is that of one item used by itself.
	Alone Together = "alone"
	// Pair: the value is that of both items together, through a bridle. It
	// says nothing of one of them alone.
	Pair Together = "pair"
)

// FactorFrom says who stated a design factor.
type FactorFrom string

// Who stated a design factor.
const (
	FactorUnstated FactorFrom = ""      // not recorded
	FactorMaker    FactorFrom = "maker" // on the item or in its papers
	FactorOwner    FactorFrom = "owner" // a rule of whoever answers for the gear
)

// Rating is one number that an item is rated at, with what is known of its
// meaning.
type Rating struct {
	// Value is the rated force. It is above zero.
	Value unit.Force `json:"value"`
	// Basis is what the value means.
	Basis Basis `json:"basis"`
	// DesignFactor divides an MBS into a working limit. Nil where none was
	// stated: then there is no working limit.
	DesignFactor *float64 `json:"design_factor,omitempty"`
	// FactorFrom is who stated the design factor.
	FactorFrom FactorFrom `json:"factor_from,omitempty"`
	// Direction is the condition on the angle of the line.
	Direction Direction `json:"direction,omitzero"`
	// Together is the condition on use alone or as a pair.
	Together Together `json:"together,omitempty"`
	// Stamp is what is stamped on the item, word for word.
	Stamp string `json:"stamp,omitempty"`
}

// Direction is the condition of a rating on the angle between the line and
// the item's own axis. The zero Direction is unstated.
type Direction struct {
	Rule DirectionRule
	Max  unit.Angle // with UpTo only
}

// DirectionRule is the kind of a Direction.
type DirectionRule uint8

// The rules.
const (
	// DirectionUnstated: the maker does not say.
	DirectionUnstated DirectionRule = iota
	// StraightOnly: rated in line only.
	StraightOnly
	// UpTo: rated in full up to the angle Max.
	UpTo
	// FullTurn: rated in full to the full turn of the front wheels.
	FullTurn
	// AnyDirection: rated in full in every direction.
	AnyDirection
	// SideLoadSteps: reduced by the published steps of a shackle's side load.
	SideLoadSteps
)

const upTo = "up to "

var directionWords = map[DirectionRule]string{
	DirectionUnstated: "unstated",
	StraightOnly:      "straight only",
	FullTurn:          "full turn of the front wheels",
	AnyDirection:      "any direction",
	SideLoadSteps:     "side load steps",
}

// Straight is rated in line only.
func Straight() Direction { return Direction{Rule: StraightOnly} }

// Within is rated up to the angle a.
func Within(a unit.Angle) Direction { return Direction{Rule: UpTo, Max: a} }

// String writes the direction as files have it: "straight only", "up to
// 30deg", "full turn of the front wheels", "any direction", "side load
// steps", "unstated".
func (d Direction) String() string {
	if d.Rule != UpTo {
		return directionWords[d.Rule]
	}
	if deg := d.Max.Degrees(); unit.Degrees(deg) == d.Max {
		return fmt.Sprintf("%s%vdeg", upTo, deg)
	}
	b, _ := d.Max.MarshalText()
	return upTo + string(b)
}

// IsZero says that the direction is unstated.
func (d Direction) IsZero() bool { return d == Direction{} }

// MarshalText writes the same as String.
func (d Direction) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads what String writes.
func (d *Direction) UnmarshalText(b []byte) error {
	s := strings.TrimSpace(string(b))
	for rule, word := range directionWords {
		if s == word {
			*d = Direction{Rule: rule}
			return nil
		}
	}
	rest, ok := strings.CutPrefix(s, upTo)
	if !ok {
		return fmt.Errorf("%q is not a direction: write %q, %q, %q, %q, %q or %q", s,
			"straight only", "up to 30deg", "full turn of the front wheels", "any direction", "side load steps", "unstated")
	}
	a, err := unit.ParseAngle(rest)
	if err != nil {
		return err
	}
	*d = Within(a)
	return nil
}
