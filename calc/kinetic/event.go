package kinetic

import (
	"math"

	"tautlog/calc/unit"
)

// The events that end a step. Each has a margin that is positive until it
// happens.
const (
	lineChanges = iota // slack or taut
	lineTurns          // let out or taken up
	lineRecovers
	lineBends     // from one piece of a measured curve to the next
	pullerChanges // stops or starts
	stuckChanges
	events
)

func (s *solver) margins(y state) (m [events]float64) {
	f := s.pulls(y)
	m[pullerChanges] = s.one.margin(s.drive-f, y.v1)
	m[stuckChanges] = s.two.margin(f, y.v2)
	m[lineTurns], m[lineRecovers], m[lineBends] = math.Inf(1), math.Inf(1), math.Inf(1)
	if !s.taut {
		m[lineChanges] = sliver - y.stretch()
		return m
	}
	m[lineChanges] = y.stretch() + sliver
	m[lineBends] = s.untilBend(y.stretch())
	m[lineTurns] = sliver - y.rate()
	if s.rises {
		m[lineTurns] = sliver + y.rate()
		if s.law.exponent > 0 {
			m[lineRecovers] = 1 - s.law.at(s.law.line.Curve.Energy(math.Max(y.stretch(), 0)))
		}
	}
	return m
}

// firstEvent finds the earliest event inside a step, as a share of it. It
// answers events where there is none. An event that the end of the step no
// longer shows, because another one undoes it, is seen at the other one.
func (s *solver) firstEvent(end state, k stages, h float64) (which int, at float64) {
	which, at = events, 1
	for y := end; ; y = within(s.y, end, k, h, at) {
		margins, found := s.margins(y), false
		for e, m := range margins {
			if m > 0 || e == which {
				continue
			}
			if u := s.locate(e, end, k, h, at); u < at || which == events {
				which, at, found = e, u, true
				break
			}
		}
		if !found {
			return which, at
		}
	}
}

// locate halves the first part of the step, up to the share high, until the
// moment of event e is known to rounding. It answers the late side, where the
// event has happened.
func (s *solver) locate(e int, end state, k stages, h, high float64) float64 {
	for low := 0.0; ; {
		mid := (low + high) / 2
		if mid == low || mid == high {
			return high
		}
		if s.margins(within(s.y, end, k, h, mid))[e] > 0 {
			low = mid
		} else {
			high = mid
		}
	}
}

// happen changes the law of the motion where event e took place.
func (s *solver) happen(e int) {
	switch e {
	case lineChanges:
		s.lineChanged()
	case lineTurns:
		s.lineTurned()
	case lineRecovers:
		s.newLaw(s.pull.Line.fresh())
		s.law.from = s.law.line.Curve.Energy(s.y.stretch())
	case lineBends:
		s.bend()
	case stuckChanges:
		if s.two.way == 0 && len(s.out.Peaks) == 0 {
			s.out.Moves = true
		}
	}
	s.settle()
}

func (s *solver) lineChanged() {
	if s.taut {
		s.newLaw(s.pull.Line.fresh())
		s.out.Slack = append(s.out.Slack, s.t)
	}
	s.taut = !s.taut
	s.rises, s.piece = true, 0
	s.law = s.pull.Line.fresh()
}

// untilBend is how far the stretch x is from where it leaves its piece of the
// curve, the way it goes.
func (s *solver) untilBend(x float64) float64 {
	switch {
	case s.rises && s.piece < len(s.bends):
		return s.bends[s.piece] - x + sliver
	case !s.rises && s.piece > 0:
		return x - s.bends[s.piece-1] + sliver
	}
	return math.Inf(1)
}

// bend goes over to the next piece of the curve, or back.
func (s *solver) bend() {
	if s.rises {
		s.piece++
	} else {
		s.piece--
	}
}

func (s *solver) lineTurned() {
	x := s.y.stretch()
	if s.rises {
		s.out.Peaks = append(s.out.Peaks, Peak{At: s.t, Force: unit.Force(s.law.force(x)), Stretch: unit.Length(x)})
		s.done = s.options.Until == 0
		s.newLaw(s.law.letOut(x))
	} else {
		s.newLaw(s.law.takeUp(x))
	}
	s.rises = !s.rises
}
