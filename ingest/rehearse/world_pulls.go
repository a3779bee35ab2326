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

// push is what Heron's wheels push on with after the line came taut: next to
// nothing where the driver expects to be stopped, more where Otter comes along.
// Still more would put more on the line than the speed does.
func push(ground string) unit.Force {
	switch ground {
	case silt:
		return 1e3
	case wetSand:
		return 1.7e3
	}
	return 6e3
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
	gap    time.Duration // from this pull to the next, at whichever cell
	cell   string        // that measures it
	rig    string
	ground string
	name   string
	shape  func(vary func(share float64) float64) Shape
}

// programme plays those parts that a cell measures, over and over from first
// on. Vary gives a factor near one, other in each pull and the same in each run.
func programme(first time.Duration, cell string, parts []part) Script {
	var lap time.Duration
	var mine []part
	var after []time.Duration // of mine, from the beginning of the lap
	for _, p := range parts {
		if p.cell == cell {
			mine, after = append(mine, p), append(after, lap)
		}
		lap += p.gap
	}
	return func(n int) (Pull, bool) {
		i := n % len(mine)
		p := mine[i]
		random := rand.New(rand.NewPCG(uint64(n), 0x10e4f04c))
		vary := func(share float64) float64 { return between(random, 1-share, 1+share) }
		return Pull{
			At: first + time.Duration(n/len(mine))*lap + after[i], Rig: p.rig, Ground: p.ground,
			Name: fmt.Sprintf("%s, %s", p.name, p.ground), Shape: p.shape(vary),
		}, true
	}
}

// jerked, towed, winched and proofed are what a shape is made of, each time a
// little different.
func jerked(line kinetic.Line, ground string, kmh float64) func(func(float64) float64) Shape {
	return func(vary func(float64) float64) Shape {
		return jerk(line, ground, kmh*vary(0.08), push(ground)*unit.Force(vary(0.3)), 1.1*vary(0.2))
	}
}

func towed(vary func(float64) float64) Shape {
	return Steady{Level: unit.Force(14e3 * vary(0.15)), Ramp: 2, Work: 6 * vary(0.2), Release: 1.2, StickSlip: 3e3, Stick: 0.7, Swing: 600, SwingHz: 0.35}
}

func winched(level unit.Force) func(func(float64) float64) Shape {
	return func(vary func(float64) float64) Shape {
		return Steady{Level: level * unit.Force(vary(0.1)), Ramp: 3, Work: 9 * vary(0.2), Release: 1, StickSlip: level / 5, Stick: 0.9, Swing: level / 20, SwingHz: 0.25}
	}
}

func proofed(level unit.Force, ramp float64) func(func(float64) float64) Shape {
	return func(vary func(float64) float64) Shape {
		return Proof{Level: level * unit.Force(vary(0.02)), Ramp: ramp, Hold: ramp + 1, Release: 1.5, Relax: 0.02}
	}
}

// trainingDay is what Heron does, one thing after the other: Otter out of the
// wet sand, Mole with the winch, the harder ones out of the silt, and on firm
// gravel at last the lines held at a load. It is shorter than a day: pulls follow
// each other within half a minute, so that nobody waits.
func trainingDay(cell string) Script {
	one, two := riverOne().Name, riverTwo().Name
	return programme(6*time.Second, cell, []part{
		{19 * time.Second, one, rigInLine, wetSand, "kinetic pull", jerked(blueStrap(), wetSand, 8)},
		{20 * time.Second, one, rigInLine, wetSand, "steady tow", towed},
		{24 * time.Second, two, rigWinch, wetSand, "winch pull", winched(15e3)},
		{18 * time.Second, one, rigBridle, wetSand, "kinetic pull", jerked(greenRope(), wetSand, 9)},
		{17 * time.Second, one, rigInLine, silt, "kinetic pull", jerked(blueStrap(), silt, 13)},
		{16 * time.Second, one, rigBridle, silt, "kinetic pull", jerked(greenRope(), silt, 16)},
		{25 * time.Second, two, rigWinch, silt, "winch pull", winched(24e3)},
		{24 * time.Second, two, rigWinch, silt, "winch pull", winched(33e3)},
		{21 * time.Second, one, rigInLine, firmGravel, "kinetic pull", jerked(blueStrap(), firmGravel, 6)},
		{22 * time.Second, one, rigInLine, firmGravel, "steady tow", towed},
		{22 * time.Second, one, rigInLine, firmGravel, "proof pull", proofed(30e3, 4)},
		{25 * time.Second, two, rigWinch, firmGravel, "proof pull", proofed(25e3, 5)},
	})
}
