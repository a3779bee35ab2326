package kinetic

import (
	"math"

	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// ErrSteps says that the integration could not get to its end. It points to
// quantities that do not belong together, such as a gram on a steel bar.
var ErrSteps error = words.Kind("kinetic.motion.fast")

// Solve integrates the motion of both vehicles from the moment when the line
// comes taut, with steps of Dormand and Prince under error control. The
// moments at which the law of the motion changes (line slack or taut, line let
// out or taken up, a vehicle stops or starts, the driver does something else)
// are located, and no step reaches across one; nor across a point of a measured
// curve, where its curvature jumps.
func Solve(p Pull, o Options) (Motion, error) {
	if err := p.Validate(); err != nil {
		return Motion{}, err
	}
	if !(o.Until >= 0) || math.IsInf(o.Until, 0) || (o.Each != nil && !(o.Interval > 0)) {
		panic("kinetic: Solve needs a finite end, and an interval where samples are wanted")
	}
	s := newSolver(p, o)
	for !s.done {
		if err := s.advance(); err != nil {
			return Motion{}, err
		}
	}
	return s.motion(), nil
}

// solver is an integration going on.
type solver struct {
	options Options
	pull    Pull
	changes []Change

	t     float64
	y     state
	drive float64
	one   body // the puller
	two   body // the stuck vehicle
	taut  bool
	rises bool      // the stretch grows (only while taut)
	law   branch    // of the line while taut
	bends []float64 // stretches at which a measured curve goes over to its next piece
	piece int       // which piece the stretch lies on

	slope   state // at y
	h       float64
	typical state
	sampled int
	done    bool
	out     Motion
}

func newSolver(p Pull, o Options) *solver {
	if o.Tolerance == 0 {
		o.Tolerance = 1e-11
	}
	s := &solver{
		options: o, pull: p, changes: p.Changes, y: state{v1: float64(p.Speed)},
		drive: float64(p.Drive),
		one:   body{mass: float64(p.Puller), hold: float64(p.Brake), slide: float64(p.Brake)},
		two:   body{mass: float64(p.Stuck), hold: float64(p.Resistance), slide: float64(p.Moving), fixed: p.Fixed},
		taut:  true, rises: true, law: p.Line.fresh(),
	}
	if m, ok := p.Line.Curve.(*Measured); ok {
		s.bends = m.x[1:]
	}
	if p.Moving == 0 {
		s.two.slide = s.two.hold
	}
	s.out.Ledger.Start = s.one.mass * s.y.v1 * s.y.v1 / 2
	s.out.Moves = !p.Fixed && p.Resistance == 0
	s.scale()
	s.settle()
	s.done = s.done || (o.Until == 0 && p.Speed == 0 && p.Drive <= p.Brake && len(p.Changes) == 0)
	s.sample(0, func(float64) state { return s.y })
	return s
}

// scale finds what is typical of this pull: a step to try first, and sizes
// below which errors do not matter.
func (s *solver) scale() {
	k := s.law.force(1e-3) / 1e-3
	m := s.one.mass
	period := math.Sqrt(m / k)
	v := s.y.v1 + s.drive/m*period
	if v == 0 {
		v = 1e-3
	}
	s.typical = state{v * period, v, v * period, v}
	s.h = period / 100
}

// pulls is the force of the line in the state y.
func (s *solver) pulls(y state) float64 {
	if !s.taut {
		return 0
	}
	return s.law.force(y.stretch())
}

func (s *solver) derivative(y state) state {
	f := s.pulls(y)
	return state{y.v1, s.one.push(s.drive - f), y.v2, s.two.push(f)}
}

// settle decides, at a moment when something changed, how both vehicles go on.
func (s *solver) settle() {
	f := s.pulls(s.y)
	s.y.v1 = s.one.settle(s.drive-f, s.y.v1)
	s.y.v2 = s.two.settle(f, s.y.v2)
	if s.one.way == 0 && s.two.way == 0 && s.taut && s.rises {
		s.lineTurned() // all stands: what the line holds is a peak
	}
	s.slope = s.derivative(s.y)
}

// advance makes one step, cut short at the next change.
func (s *solver) advance() error {
	const maxSteps, smallest = 1_000_000, 1e-13
	s.out.Steps++
	h, last := s.room()
	end, k := dormandPrince(s.derivative, s.y, s.slope, h)
	wrong := misfit(s.y, end, k, h, s.options.Tolerance, s.typical)
	next := h * math.Min(5, math.Max(0.2, 0.9*math.Pow(math.Max(wrong, 1e-10), -0.2)))
	if !(wrong <= 1) {
		s.h = next
		if !(next > smallest) || s.out.Steps > maxSteps {
			return words.Error("kinetic.steps", ErrSteps, s.t)
		}
		return nil
	}
	if s.out.Steps > maxSteps {
		return words.Error("kinetic.steps", ErrSteps, s.t)
	}
	which, u := s.firstEvent(end, k, h)
	if which < events {
		h *= u
		end, k = dormandPrince(s.derivative, s.y, s.slope, h)
		last = false
	} else if !last || next < s.h {
		s.h = next
	}
	s.accept(end, k, h)
	switch {
	case which < events:
		s.happen(which)
	case last:
		s.change()
	}
	return nil
}

// maxStep keeps a step from jumping over two changes that undo each other.
const maxStep = 0.01

// room is the length of the next step, and whether it ends where the driver
// changes something or Solve ends.
func (s *solver) room() (h float64, last bool) {
	limit := math.Inf(1)
	if len(s.changes) > 0 {
		limit = s.changes[0].At
	}
	if s.options.Until > 0 {
		limit = math.Min(limit, s.options.Until)
	}
	h = math.Min(s.h, maxStep)
	if s.t+h*(1+1e-9) >= limit {
		return limit - s.t, true
	}
	return h, false
}

// accept takes a finished step into the books.
func (s *solver) accept(end state, k stages, h float64) {
	s.sample(s.t+h, func(t float64) state { return within(s.y, end, k, h, (t-s.t)/h) })
	l := &s.out.Ledger
	l.Drive += s.drive * (end.x1 - s.y.x1)
	l.Brake += s.one.slide * math.Abs(end.x1-s.y.x1)
	l.Ground += s.two.slide * math.Abs(end.x2-s.y.x2)
	s.t, s.y, s.slope = s.t+h, end, k[6]
	if m, ok := s.pull.Line.Curve.(*Measured); ok && end.stretch() > float64(m.Range()) {
		s.out.Outside = true
	}
}

// sample hands out the samples up to time t.
func (s *solver) sample(t float64, at func(float64) state) {
	if s.options.Each == nil {
		return
	}
	for ; float64(s.sampled)*s.options.Interval <= t; s.sampled++ {
		now := float64(s.sampled) * s.options.Interval
		y := at(now)
		s.options.Each(Sample{
			At: now, Force: unit.Force(s.pulls(y)), Stretch: unit.Length(y.stretch()),
			Puller: unit.Length(y.x1), Stuck: unit.Length(y.x2), Speed: unit.Speed(y.v1), Dragged: unit.Speed(y.v2),
		})
	}
}

// newLaw closes the account of the line's present branch and begins another.
func (s *solver) newLaw(b branch) {
	s.out.Ledger.Line += s.law.work(s.y.stretch())
	s.law = b
}

// change is the end of a step where the driver does something else, or the
// end of all.
func (s *solver) change() {
	if len(s.changes) > 0 && s.t >= s.changes[0].At {
		c := s.changes[0]
		s.changes = s.changes[1:]
		s.drive = float64(c.Drive)
		s.one.hold, s.one.slide = float64(c.Brake), float64(c.Brake)
		s.settle()
	}
	if s.options.Until > 0 && s.t >= s.options.Until {
		s.done = true
	}
}

// motion closes the books.
func (s *solver) motion() Motion {
	s.newLaw(s.law)
	l := &s.out.Ledger
	if s.taut {
		l.Stored = s.law.stored(s.y.stretch())
	}
	l.Line -= l.Stored
	l.Motion = (s.one.mass*s.y.v1*s.y.v1 + s.two.mass*s.y.v2*s.y.v2) / 2
	s.out.Way, s.out.Dragged, s.out.Ended = unit.Length(s.y.x2), unit.Speed(s.y.v2), s.t
	for _, p := range s.out.Peaks {
		if p.Force > s.out.Peak {
			s.out.Peak, s.out.PeakAt, s.out.Stretch = p.Force, p.At, p.Stretch
			s.out.Energy = s.pull.Line.Curve.Energy(float64(p.Stretch))
		}
	}
	return s.out
}
