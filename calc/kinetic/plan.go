package kinetic

import (
	"math"

	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Plan is a kinetic pull as people plan it: vehicles, strap, run-up and
// driver, and what they want to know of it.
type Plan struct {
	Puller unit.Mass // with its load
	Stuck  unit.Mass // with its load
	Strap  Strap

	// Speed of the puller when the line comes taut; with Slack, before that:
	// when the slack begins to run out. 0 is from standstill.
	Speed unit.Speed
	// Slack is the way that the puller runs before the line is taut.
	Slack unit.Length
	// Drive is what the driver asks of the wheels, in the run-up and after it.
	Drive unit.Force
	// Grip limits the drive; nil: it does not.
	Grip *Grip
	// Slope is that of the puller's ground, uphill in the direction of the
	// pull above zero, downhill below.
	Slope unit.Angle
	// Rolling is the puller's own resistance to rolling.
	Rolling unit.Force

	// Fixed, Resistance and Moving hold the stuck vehicle as in Pull. A slope
	// under it is part of them.
	Fixed      bool
	Resistance unit.Force
	Moving     unit.Force

	// Attempts is how many times the pull is made; 0 means once.
	Attempts int
	// Stiffening is by which share of its stiffness the strap stiffens with
	// every attempt, as the user knows it. No published figure is known to us.
	Stiffening float64

	// Parts are masses of parts that might let go; none means 1, 3 and 5 kg.
	Parts []unit.Mass
	// KeepOut is how many times the line's length people keep away; 0 means
	// LeastKeepOut.
	KeepOut float64
}

// LeastKeepOut is the smallest factor for KeepOut that a published source asks
// for in a kinetic pull.
const LeastKeepOut = 1.5

// MaxAttempts bounds the attempts of a Plan.
const MaxAttempts = 50

// Calculate works the plan out. By formula where that is possible, else by
// integration. It is pure: the same plan gives the same outcome.
func (p Plan) Calculate() (Outcome, error) {
	p = p.completed()
	if err := p.validate(); err != nil {
		return Outcome{}, err
	}
	var out Outcome
	var err error
	if out.Push, err = p.push(); err != nil {
		return Outcome{}, err
	}
	if out.Pull, err = p.pull(out.Push); err != nil {
		return Outcome{}, err
	}
	if err := out.peaks(); err != nil {
		return Outcome{}, err
	}
	if err := out.repeat(p); err != nil {
		return Outcome{}, err
	}
	out.consequences(p)
	out.remark(p)
	return out, nil
}

// completed puts in what is meant by nothing.
func (p Plan) completed() Plan {
	if p.Attempts == 0 {
		p.Attempts = 1
	}
	if len(p.Parts) == 0 {
		p.Parts = []unit.Mass{1, 3, 5}
	}
	if p.KeepOut == 0 {
		p.KeepOut = LeastKeepOut
	}
	return p
}

func (p Plan) validate() error {
	for _, m := range p.Parts {
		if !(m > 0) || math.IsInf(float64(m), 0) {
			return words.Error("kinetic.part.mass.wrong", ErrPull, m)
		}
	}
	switch {
	case !(p.Puller > 0) || math.IsInf(float64(p.Puller), 0):
		return words.Error("kinetic.puller.mass.wrong", ErrPull, p.Puller)
	case !(p.Stuck > 0):
		return words.Error("kinetic.stuck.mass.wrong", ErrPull, p.Stuck)
	case !(p.Speed >= 0) || math.IsInf(float64(p.Speed), 0):
		return words.Error("kinetic.speed.wrong", ErrPull, p.Speed)
	case p.Attempts < 1 || p.Attempts > MaxAttempts:
		return words.Error("kinetic.attempts.wrong", ErrPull, p.Attempts, MaxAttempts)
	case !(p.Stiffening >= 0) || math.IsInf(p.Stiffening, 0):
		return words.Error("kinetic.stiffening.wrong", ErrPull, p.Stiffening)
	case !(p.KeepOut > 0) || math.IsInf(p.KeepOut, 0):
		return words.Error("kinetic.distance.wrong", ErrPull, p.KeepOut)
	}
	return nil
}

// pull is the plan from the moment on when the line is taut.
func (p Plan) pull(push Push) (Pull, error) {
	line, err := p.Strap.Line()
	if err != nil {
		return Pull{}, err
	}
	speed, err := p.taut(push)
	if err != nil {
		return Pull{}, err
	}
	pull := Pull{
		Puller: p.Puller, Stuck: p.Stuck, Speed: speed, Line: line,
		Drive: push.Net(), Brake: p.Rolling,
		Fixed: p.Fixed, Resistance: p.Resistance, Moving: p.Moving,
	}
	return pull, pull.Validate()
}
