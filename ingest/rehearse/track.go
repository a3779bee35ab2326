package rehearse

import (
	"math"
	"math/rand/v2"
	"sort"

	"tautlog/calc/unit"
)

// Shape is a kind of pull that can be played. Render draws what is left to
// chance in it.
type Shape interface {
	Render(random *rand.Rand) (Track, error)
}

// Track is the true force of one pull over time.
type Track struct {
	knots []knot
	swing *swing
}

// knot is a point of a track; between two of them the force goes over
// smoothly, or straight where they come from an integration.
type knot struct {
	at, force float64
	straight  bool // from the knot before to this one
}

// swing is a slow oscillation on top of the knots, with soft ends.
type swing struct{ from, to, amplitude, frequency float64 }

// Length is the time in seconds after which the line is slack for good.
func (t Track) Length() float64 {
	if len(t.knots) == 0 {
		return 0
	}
	return t.knots[len(t.knots)-1].at
}

// Force is the force in newtons at seconds after the beginning; none before
// and after the pull.
func (t Track) Force(seconds float64) float64 {
	n := len(t.knots)
	i := sort.Search(n, func(i int) bool { return t.knots[i].at > seconds })
	if i == 0 || i == n {
		return 0
	}
	a, b := t.knots[i-1], t.knots[i]
	u := (seconds - a.at) / (b.at - a.at)
	if !b.straight {
		u = u * u * (3 - 2*u)
	}
	f := a.force + u*(b.force-a.force)
	if t.swing != nil {
		f += t.swing.at(seconds)
	}
	return math.Max(0, f)
}

func (s swing) at(t float64) float64 {
	if t <= s.from || t >= s.to {
		return 0
	}
	soft := math.Min(1, math.Min(t-s.from, s.to-t)/math.Max(0.5, 0.1*(s.to-s.from)))
	return soft * s.amplitude * math.Sin(2*math.Pi*s.frequency*(t-s.from))
}

// Peak is the largest force and its time in seconds after the beginning, to
// the half millisecond.
func (t Track) Peak() (force unit.Force, at float64) {
	for n := range int(t.Length()/trackStep) + 1 {
		s := float64(n) * trackStep
		if f := unit.Force(t.Force(s)); f > force {
			force, at = f, s
		}
	}
	return force, at
}

// trackStep is the grid on which motions are kept: fine enough that a straight
// line between two points is within a millionth of the peak.
const trackStep = 0.0005

// between draws a number from low to high.
func between(random *rand.Rand, low, high float64) float64 { return low + (high-low)*random.Float64() }
