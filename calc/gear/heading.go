package gear

import (
	"math"

	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Heading is how the line lies at an item.
type Heading struct {
	// Angle is the angle between the line and the item's own axis; nil where
	// it was not recorded.
	Angle *unit.Angle
	// Side and Up are the parts of Angle, to the side and up or down; 0 where
	// it is nil or only the whole is known.
	Side, Up unit.Angle
	// Bound says that a shackle could not turn into the line.
	Bound bool
	// FullTurn says that the line lies to the side just as far as the front
	// wheels turn.
	FullTurn bool
	// TurnLimit is how far that is on the vehicle that the item is on; nil
	// where it is not known.
	TurnLimit *unit.Angle
}

// Off is the angle between a line and an axis for a line that lies h to the
// side and v up or down: cos = cos h · cos v.
func Off(h, v unit.Angle) unit.Angle {
	return unit.Angle(math.Acos(math.Cos(float64(h)) * math.Cos(float64(v))))
}

// Fit is whether a rating speaks for a use.
type Fit uint8

// The fits.
const (
	// Applies: the rating holds for this use.
	Applies Fit = iota
	// Unsure: too little is known to tell.
	Unsure
	// Refused: the rating is not for this use.
	Refused
)

// Edges of the published steps, with room for the rounding of radians.
//
// Bands 0-5, 6-45 and 46-90 degrees, and none beyond: Washington state, WAC
// 296-155-33905. Remaining 100, 70 and 50 %: four makers' tables of shackles.
// They are steps; no source interpolates between them.
const (
	inLineDegrees   = 5 + 1e-9
	sideLoadDegrees = 45 + 1e-9
	maxSideDegrees  = 90 + 1e-9
)

// SideLoad is the part of its WLL that a shackle keeps with the line at angle
// a to the side: 1, 0.7 or 0.5, in steps. It is false beyond 90°.
func SideLoad(a unit.Angle) (float64, bool) {
	switch d := math.Abs(a.Degrees()); {
	case d <= inLineDegrees:
		return 1, true
	case d <= sideLoadDegrees:
		return 0.7, true
	case d <= maxSideDegrees:
		return 0.5, true
	}
	return 0, false
}

// Match is how a rating holds at a heading.
type Match struct {
	Fit Fit
	// Fraction of the rated value that is left, where Fit is not Refused.
	Fraction float64
	// Why says what was refused or is not known, for a sentence that begins
	// with the rating; empty where it applies.
	Why string
}

// Match says whether a rating in direction d on an item of kind k holds with
// the line at heading h. What is unstated for a shackle follows the published
// side load steps; what is unstated for gear that lies in the line by itself
// holds.
func (d Direction) Match(k Kind, h Heading) Match {
	if k.Flexible() || d.Rule == AnyDirection {
		return Match{Fraction: 1}
	}
	if d.Rule == DirectionUnstated && k == BowShackle {
		d.Rule = SideLoadSteps
	}
	if h.Angle == nil && !h.FullTurn {
		return d.unrecorded(k, h)
	}
	if h.Angle != nil && math.Abs(h.Angle.Degrees()) <= inLineDegrees {
		return Match{Fraction: 1}
	}
	switch d.Rule {
	case StraightOnly:
		return refused(words.Say("item.heading.straight", h.words()))
	case UpTo:
		return h.within(&d.Max, words.Say("item.heading.upto", d.Max))
	case FullTurn:
		if h.FullTurn {
			return Match{Fraction: 1}
		}
		return h.within(h.TurnLimit, words.Say("item.heading.turn"))
	case SideLoadSteps:
		return h.sideLoaded()
	}
	return unsure(words.Say("item.heading.unstated", h.words()))
}

// unrecorded is the match where the angle at the item was not recorded.
func (d Direction) unrecorded(k Kind, h Heading) Match {
	if h.Bound {
		return unsure(words.Say("item.heading.bound"))
	}
	if k.Fixed() && d.Rule != DirectionUnstated {
		return unsure(words.Say("item.heading.unrecorded", d.Words()))
	}
	return Match{Fraction: 1}
}

// words says how far the line lies off the axis.
func (h Heading) words() string {
	if h.Angle == nil {
		return words.Say("item.heading.fullturn")
	}
	return h.Angle.String()
}

// within compares the heading with the largest angle that is rated.
func (h Heading) within(limit *unit.Angle, rated string) Match {
	switch {
	case h.Angle == nil:
		return unsure(words.Say("item.heading.turn.unknown", rated))
	case limit == nil:
		return unsure(words.Say("item.heading.turn.side", rated, *h.Angle))
	case math.Abs(h.Angle.Degrees()) > limit.Degrees()+1e-9:
		return refused(words.Say("item.heading.beyond", rated, *h.Angle))
	}
	return Match{Fraction: 1}
}

func (h Heading) sideLoaded() Match {
	if h.Angle == nil {
		return unsure(words.Say("item.heading.side.unknown"))
	}
	part, ok := SideLoad(*h.Angle)
	if !ok {
		return refused(words.Say("item.heading.side.beyond", *h.Angle))
	}
	return Match{Fraction: part}
}

func refused(why string) Match { return Match{Fit: Refused, Why: why} }
func unsure(why string) Match  { return Match{Fit: Unsure, Fraction: 1, Why: why} }
