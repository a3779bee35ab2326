package gear

import (
	"fmt"
	"strings"

	"tautlog/calc/unit"
	"tautlog/calc/words"
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

// rules pairs each rule with its words, but for UpTo, which has an angle.
func rules() []ruleWords {
	return []ruleWords{
		{StraightOnly, "straight only", "straight"},
		{FullTurn, "full turn of the front wheels", "turn"},
		{AnyDirection, "any direction", "any"},
		{SideLoadSteps, "side load steps", "steps"},
		{DirectionUnstated, "unstated", "unstated"},
	}
}

type ruleWords struct {
	rule  DirectionRule
	words string // in files
	name  string // of its text
}

// Straight is rated in line only.
func Straight() Direction { return Direction{Rule: StraightOnly} }

// Within is rated up to the angle a.
func Within(a unit.Angle) Direction { return Direction{Rule: UpTo, Max: a} }

// String writes the direction as files and forms have it: "straight
// only", "up to 30deg", "full turn of the front wheels", "any direction",
// "side load steps", "unstated".
func (d Direction) String() string {
	for _, r := range rules() {
		if r.rule == d.Rule {
			return r.words
		}
	}
	return upTo + inDegrees(d.Max)
}

// Words says it to people, where String writes what is read back.
func (d Direction) Words() string {
	for _, r := range rules() {
		if r.rule == d.Rule {
			return words.Say("item.direction." + r.name)
		}
	}
	return words.Say("item.direction.upto", d.Max)
}

func inDegrees(a unit.Angle) string { return fmt.Sprintf("%.6gdeg", a.Degrees()) }

// IsZero says that the direction is unstated.
func (d Direction) IsZero() bool { return d == Direction{} }

// MarshalText writes the same as String, but an angle that is no round number
// of degrees in radians, so that it reads back to the same bits.
func (d Direction) MarshalText() ([]byte, error) {
	if d.Rule == UpTo {
		if back, err := unit.ParseAngle(inDegrees(d.Max)); err != nil || back != d.Max {
			exact, err := d.Max.MarshalText()
			return append([]byte(upTo), exact...), err
		}
	}
	return []byte(d.String()), nil
}

// UnmarshalText reads what String writes.
func (d *Direction) UnmarshalText(b []byte) error {
	s := strings.TrimSpace(string(b))
	var offered []string
	for _, r := range rules() {
		if s == r.words {
			*d = Direction{Rule: r.rule}
			return nil
		}
		offered = append(offered, r.words)
	}
	rest, ok := strings.CutPrefix(s, upTo)
	if !ok {
		return words.Error("item.direction.wrong", s, strings.Join(offered, ", "))
	}
	a, err := unit.ParseAngle(rest)
	if err != nil {
		return err
	}
	*d = Within(a)
	return nil
}
