package rehearse

import (
	"math"
	"math/rand/v2"

	"tautlog/calc/unit"
)

// Steady is a pull by a winch or a crawling vehicle: the force ramps up, works
// about a level, and is let off. While it works, the load sticks and slips:
// the force climbs while the line stretches and drops when the load moves. The
// whole may swing slowly as the ground changes.
type Steady struct {
	Level     unit.Force
	Ramp      float64    // seconds up to the level
	Work      float64    // seconds at it
	Release   float64    // seconds to slack
	StickSlip unit.Force // from the top to the bottom of a typical slip; 0 none
	Stick     float64    // seconds from slip to slip, typically
	Swing     unit.Force // amplitude; 0 none
	SwingHz   float64
}

// Render draws the single slips: each time and drop varies by up to 40 %.
func (s Steady) Render(random *rand.Rand) (Track, error) {
	level, half := float64(s.Level), float64(s.StickSlip)/2
	t := Track{knots: []knot{{}, {at: s.Ramp, force: level + half}}}
	end := s.Ramp + s.Work
	for now := s.Ramp; half > 0; {
		const slip = 0.06 // seconds in which a load that breaks loose takes up its step
		drop := between(random, 0.6, 1.4) * half
		rise := between(random, 0.6, 1.4) * half
		next := now + slip + between(random, 0.6, 1.4)*s.Stick
		if next >= end {
			break
		}
		t.knots = append(t.knots,
			knot{at: now + slip, force: level - drop},
			knot{at: next, force: level + rise, straight: true})
		now = next
	}
	last := t.knots[len(t.knots)-1]
	if end > last.at {
		t.knots = append(t.knots, knot{at: end, force: level, straight: true})
	}
	t.knots = append(t.knots, knot{at: end + s.Release})
	if s.Swing > 0 {
		t.swing = &swing{from: s.Ramp, to: end, amplitude: float64(s.Swing), frequency: s.SwingHz}
	}
	return t, nil
}

// Proof is a proof pull: a smooth ramp to a level, a hold during which the
// line relaxes a little, and a release.
type Proof struct {
	Level   unit.Force
	Ramp    float64 // seconds
	Hold    float64 // seconds
	Release float64 // seconds
	Relax   float64 // share of the level that is lost by the end of the hold
}

// Render draws nothing: the relaxation runs with the logarithm of time, half
// of it within the first sixth of the hold.
func (p Proof) Render(*rand.Rand) (Track, error) {
	level := float64(p.Level)
	t := Track{knots: []knot{{}, {at: p.Ramp, force: level}}}
	for n := 1; n <= 60; n++ {
		u := float64(n) / 60
		lost := p.Relax * logShare(u)
		t.knots = append(t.knots, knot{at: p.Ramp + u*p.Hold, force: level * (1 - lost), straight: true})
	}
	t.knots = append(t.knots, knot{at: p.Ramp + p.Hold + p.Release})
	return t, nil
}

// logShare is log(1+24u)/log(25): 0 at 0, a half at a sixth, 1 at 1.
func logShare(u float64) float64 { return math.Log1p(24*u) / math.Log(25) }
