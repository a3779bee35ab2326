package kinetic

import "math"

// body is one vehicle under dry friction.
type body struct {
	mass  float64
	hold  float64 // greatest force that the ground takes up while it stands
	slide float64 // force against the motion while it moves
	way   float64 // +1 or −1 while it moves that way, 0 while it stands
	fixed bool
}

// push is the acceleration under an applied force.
func (b body) push(applied float64) float64 {
	if b.fixed || b.way == 0 {
		return 0
	}
	return (applied - b.way*b.slide) / b.mass
}

// rough tells whether the ground does anything to the body at all.
func (b body) rough() bool { return b.hold > 0 || b.slide > 0 }

// margin is how far the body is from a change between standing and moving:
// positive while nothing changes. Standing, it is the hold that is left, in
// newtons. Moving, it is the speed, in m/s. Both carry a sliver of slack so
// that a body that has just changed is not at once about to change again.
func (b body) margin(applied, v float64) float64 {
	switch {
	case b.fixed || !b.rough():
		return math.Inf(1)
	case b.way == 0:
		return b.hold*(1+sliver) + sliver - math.Abs(applied)
	}
	return b.way*v + sliver
}

// sliver is far below anything that matters: 1 nm/s, 1 nN, 1 nm.
const sliver = 1e-9

// settle decides what the body does now that its speed is v under an applied
// force: it stands if the ground holds it, else it moves. The answer is the
// speed with which it goes on.
func (b *body) settle(applied, v float64) float64 {
	switch {
	case b.fixed:
		b.way = 0
	case math.Abs(v) > 2*sliver || !b.rough():
		b.way = math.Copysign(1, v) // without friction it has no meaning
	case math.Abs(applied) > b.hold:
		b.way = math.Copysign(1, applied)
	default:
		b.way = 0
	}
	if b.way == 0 {
		return 0
	}
	return v
}
