package gear

import (
	"fmt"
	"strings"

	"tautlog/calc/unit"
)

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
