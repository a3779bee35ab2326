package rig

import (
	"strings"

	"tautlog/calc/gear"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Other is the other end.
func (s Side) Other() Side {
	if s == StuckEnd {
		return PullingEnd
	}
	return StuckEnd
}

// vehicle is what stands at the end.
func (r Rig) vehicle(s Side) gear.Vehicle {
	if s == StuckEnd {
		return r.Stuck
	}
	return r.Pulling
}

// winchEnd is the end from which the line is hauled.
func (r Rig) winchEnd() Side {
	if r.WinchAt == StuckEnd {
		return StuckEnd
	}
	return PullingEnd
}

// End is the end that link i is fixed to: all that is fixed to a vehicle
// stands at the outside of the chain. Empty where it hangs in the line.
func (r Rig) End(i int) Side {
	switch {
	case all(r.Chain[:i+1]):
		return PullingEnd
	case all(r.Chain[i:]):
		return StuckEnd
	}
	return ""
}

// all says that every link is a bridle or an item that is fixed.
func all(ls []Link) bool {
	for _, l := range ls {
		if l.Bridle == nil && (l.Use == nil || !l.Use.Item.Kind.Fixed()) {
			return false
		}
	}
	return true
}

// where says in words where an item in line stands.
func (r Rig) where(end Side, it gear.Item) string {
	if end == "" || !it.Kind.Fixed() {
		return words.Say("place.line")
	}
	return words.Say("place.at", r.vehicle(end).Name)
}

// turnLimit is how far the front wheels turn on the vehicle that the item is
// on: the one it names, or the one at its end.
func (r Rig) turnLimit(it gear.Item, end Side) *unit.Angle {
	for _, v := range []gear.Vehicle{r.Pulling, r.Stuck} {
		if it.Vehicle != "" && (it.Vehicle == v.ID || it.Vehicle == v.Name) {
			return v.FullTurn
		}
	}
	if end == "" {
		return nil
	}
	return r.vehicle(end).FullTurn
}

// heading is the recorded angle, or what follows from the rig where none was
// recorded.
func (o *OffAxis) heading(implied gear.Heading) gear.Heading {
	switch {
	case o == nil:
		return implied
	case o.FullTurn:
		return gear.Heading{FullTurn: true}
	}
	h, v := o.parts()
	return heading(h, v)
}

// heading is that of a line h to the side and v up or down.
func heading(h, v unit.Angle) gear.Heading {
	a := gear.Off(h, v)
	return gear.Heading{Angle: &a, Side: h, Up: v}
}

// turned completes a heading with how far the front wheels turn.
func turned(h gear.Heading, o *OffAxis, turn *unit.Angle) gear.Heading {
	h.TurnLimit = turn
	if h.FullTurn && turn != nil {
		_, up := o.parts()
		a := gear.Off(*turn, up)
		h.Angle, h.Side, h.Up = &a, *turn, up
	}
	return h
}

// parts gives both angles, a part that was left out as in line.
func (o *OffAxis) parts() (h, v unit.Angle) {
	if o.Horizontal != nil {
		h = *o.Horizontal
	}
	if o.Vertical != nil {
		v = *o.Vertical
	}
	return h, v
}

// leg names the leg of a bridle that the place is in.
func (p Place) leg() string {
	for _, leg := range []string{".left.", ".right.", ".strap"} {
		if i := strings.Index(p.Ref, leg); i >= 0 {
			return p.Ref[:i] + leg
		}
	}
	return ""
}
