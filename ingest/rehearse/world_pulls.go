package rehearse

import (
	"fmt"
	"math/rand/v2"
	"time"

	"tautlog/calc/kinetic"
	"tautlog/calc/unit"
)

// The lines of Lower Fork as they stretch: invented, the shape that nylon has.
func blueStrap() kinetic.Line {
	return lossy(0.25, kinetic.Point{Stretch: 0.4, Force: 8e3}, kinetic.Point{Stretch: 0.8, Force: 19e3},
		kinetic.Point{Stretch: 1.2, Force: 34e3}, kinetic.Point{Stretch: 1.6, Force: 54e3}, kinetic.Point{Stretch: 2, Force: 78e3})
}

func greenRope() kinetic.Line {
	return lossy(0.35, kinetic.Point{Stretch: 0.5, Force: 9e3}, kinetic.Point{Stretch: 1, Force: 24e3},
		kinetic.Point{Stretch: 1.6, Force: 55e3}, kinetic.Point{Stretch: 2.4, Force: 127e3})
}

func lossy(loss float64, points ...kinetic.Point) kinetic.Line {
	c, err := kinetic.NewMeasured(points)
	if err != nil {
		panic("rehearse: " + err.Error()) // the points stand above
	}
	return kinetic.Line{Curve: c, Loss: loss}
}

// hold is what holds a vehicle of Otter's mass on a ground, and what it drags
// with once it moves.
func hold(ground string) (still, moving unit.Force) {
	switch ground {
	case silt:
		return 44e3, 30e3
	case wetSand:
		return 19e3, 13e3
	}
	return 7e3, 4e3
}

// jerk is Heron pulling Otter out of a ground at a speed. The driver keeps
// pushing for a moment after the peak, then lifts and lets the truck roll.
func jerk(line kinetic.Line, ground string, kmh float64, drive unit.Force, pushes float64) Kinetic {
	still, moving := hold(ground)
	return Kinetic{Seconds: pushes + 2, LetOff: 0.6, Pull: kinetic.Pull{
		Puller: 2950, Stuck: 2650, Speed: unit.Speed(kmh / 3.6), Line: line,
		Drive: drive, Brake: 600, Changes: []kinetic.Change{{At: pushes, Brake: 500}},
		Resistance: still, Moving: moving,
	}}
}

// part is one entry of a programme that is run over and over.
type part struct {
	gap    time.Duration // from this pull to the next
	rig    string
	ground string
	name   string
	shape  func(vary func(share float64) float64) Shape
}

// programme plays parts over and over from first on. Vary gives a factor near
// one, other in each pull and the same in each run.
func programme(first time.Duration, parts []part) Script {
	var lap time.Duration
	for _, p := range parts {
		lap += p.gap
	}
	return func(n int) (Pull, bool) {
		at := first + time.Duration(n/len(parts))*lap
		for _, p := range parts[:n%len(parts)] {
			at += p.gap
		}
		p := parts[n%len(parts)]
		random := rand.New(rand.NewPCG(uint64(n), 0x10e4f04c))
		vary := func(share float64) float64 { return between(random, 1-share, 1+share) }
		return Pull{
			At: at, Rig: p.rig, Ground: p.ground,
			Name: fmt.Sprintf("%s, %s", p.name, p.ground), Shape: p.shape(vary),
		}, true
	}
}

func strapPulls(n int) (Pull, bool) {
	kineticPart := func(gap time.Duration, rig, ground string, line kinetic.Line, kmh float64) part {
		return part{gap, rig, ground, "kinetic pull", func(vary func(float64) float64) Shape {
			return jerk(line, ground, kmh*vary(0.08), unit.Force(8e3*vary(0.3)), 1.1*vary(0.2))
		}}
	}
	tow := func(vary func(float64) float64) Shape {
		return Steady{Level: unit.Force(14e3 * vary(0.15)), Ramp: 2, Work: 6 * vary(0.2), Release: 1.2, StickSlip: 3e3, Stick: 0.7, Swing: 600, SwingHz: 0.35}
	}
	proof := func(vary func(float64) float64) Shape {
		return Proof{Level: unit.Force(30e3 * vary(0.02)), Ramp: 4, Hold: 5, Release: 1.5, Relax: 0.025}
	}
	return programme(6*time.Second, []part{
		kineticPart(19*time.Second, rigInLine, wetSand, blueStrap(), 8),
		{20 * time.Second, rigInLine, wetSand, "steady tow", tow},
		kineticPart(17*time.Second, rigInLine, silt, blueStrap(), 11),
		{23 * time.Second, rigInLine, firmGravel, "proof pull", proof},
		kineticPart(18*time.Second, rigBridle, wetSand, greenRope(), 9),
		kineticPart(16*time.Second, rigBridle, silt, greenRope(), 14),
		{22 * time.Second, rigInLine, firmGravel, "steady tow", tow},
		kineticPart(21*time.Second, rigInLine, firmGravel, blueStrap(), 6),
	})(n)
}

func winchPulls(n int) (Pull, bool) {
	winch := func(level unit.Force) func(func(float64) float64) Shape {
		return func(vary func(float64) float64) Shape {
			return Steady{Level: level * unit.Force(vary(0.1)), Ramp: 3, Work: 9 * vary(0.2), Release: 1, StickSlip: level / 5, Stick: 0.9, Swing: level / 20, SwingHz: 0.25}
		}
	}
	proof := func(vary func(float64) float64) Shape {
		return Proof{Level: unit.Force(25e3 * vary(0.03)), Ramp: 5, Hold: 6, Release: 1.5, Relax: 0.02}
	}
	return programme(15*time.Second, []part{
		{25 * time.Second, rigWinch, silt, "winch pull", winch(24e3)},
		{25 * time.Second, rigWinch, firmGravel, "proof pull", proof},
		{24 * time.Second, rigWinch, wetSand, "winch pull", winch(15e3)},
		{24 * time.Second, rigWinch, silt, "winch pull", winch(33e3)},
	})(n)
}
