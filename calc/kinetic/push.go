package kinetic

import (
	"math"

	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Grip is what the ground lets a vehicle's driven wheels pass on: Coulomb's
// dry friction (elementary). No published coefficient for the grounds of
// recoveries is known to us, so it is the user's own number.
type Grip struct {
	Coefficient float64 // of friction between tyres and ground
	Driven      float64 // share of the weight on the driven wheels; 0 means all
}

// Limit is the greatest drive of a vehicle of mass m on a slope.
func (g Grip) Limit(m unit.Mass, slope unit.Angle) unit.Force {
	driven := g.Driven
	if driven == 0 {
		driven = 1
	}
	return m.Weight() * unit.Force(g.Coefficient*driven*math.Cos(float64(slope)))
}

func (g Grip) validate() error {
	switch {
	case !(g.Coefficient > 0) || math.IsInf(g.Coefficient, 0):
		return words.Error("kinetic.grip.wrong", ErrPull, g.Coefficient)
	case !(g.Driven >= 0 && g.Driven <= 1):
		return words.Error("kinetic.driven.wrong", ErrPull, g.Driven)
	}
	return nil
}

// Push is what pushes the puller on.
type Push struct {
	Asked  unit.Force  // what the driver asks of the wheels
	Limit  *unit.Force // what grip allows; nil: not known
	Drive  unit.Force  // what the wheels pass on: the lesser of both
	Weight unit.Force  // of the puller along its slope, against it; below zero down a slope
}

// Net is the drive less the weight along the slope.
func (p Push) Net() unit.Force { return p.Drive - p.Weight }

// Capped tells whether the ground holds less than the driver asks.
func (p Push) Capped() bool { return p.Drive < p.Asked }

// push works out what pushes the puller.
func (p Plan) push() (Push, error) {
	switch {
	case !(math.Abs(float64(p.Slope)) < math.Pi/2):
		return Push{}, words.Error("kinetic.slope.wrong", ErrPull, p.Slope)
	case !(p.Drive >= 0) || math.IsInf(float64(p.Drive), 0):
		return Push{}, words.Error("kinetic.drive.wrong", ErrPull, p.Drive)
	case !(p.Rolling >= 0) || math.IsInf(float64(p.Rolling), 0):
		return Push{}, words.Error("kinetic.puller.rolling.wrong", ErrPull, p.Rolling)
	}
	out := Push{Asked: p.Drive, Drive: p.Drive, Weight: p.Puller.Weight() * unit.Force(math.Sin(float64(p.Slope)))}
	if p.Grip != nil {
		if err := p.Grip.validate(); err != nil {
			return Push{}, err
		}
		limit := p.Grip.Limit(p.Puller, p.Slope)
		out.Limit, out.Drive = &limit, min(p.Drive, limit)
	}
	if out.Net() < 0 {
		return Push{}, words.Error("kinetic.slope.back", ErrPull, out.Weight, out.Drive)
	}
	return out, nil
}

// RunUp is the speed at which a puller of mass m arrives at the end of a way:
//
//	v² = v0² + 2·F·s/m
//
// with v0 the speed at its beginning and F what pushes less what resists
// (work and energy; elementary). It is false where the puller stops before.
func RunUp(v0 unit.Speed, m unit.Mass, net unit.Force, way unit.Length) (unit.Speed, bool) {
	squared := float64(v0*v0) + 2*float64(net)*float64(way)/float64(m)
	if squared <= 0 && way > 0 {
		return 0, false
	}
	return unit.Speed(math.Sqrt(squared)), true
}

// taut is the speed of the puller when the line comes taut.
func (p Plan) taut(push Push) (unit.Speed, error) {
	if !(p.Slack >= 0) || math.IsInf(float64(p.Slack), 0) {
		return 0, words.Error("kinetic.slack.wrong", ErrPull, p.Slack)
	}
	v, ok := RunUp(p.Speed, p.Puller, push.Net()-p.Rolling, p.Slack)
	if !ok {
		return 0, words.Error("kinetic.slack.stops", ErrPull, p.Slack)
	}
	return v, nil
}
