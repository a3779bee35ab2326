package listen

import (
	"math"

	"tautlog/calc/calibrate"
	"tautlog/calc/unit"
	"tautlog/calc/words"
	"tautlog/ingest/port"
	"tautlog/ingest/store"
)

// Setting is what a person adds to what was heard, so that a cell can be
// recorded.
type Setting struct {
	Name     string
	Capacity unit.Force // rated; 0 unknown
	// Curve is newtons from counts, "b0,b1[,b2[,b3]]"; empty where the cell
	// sends a unit of force.
	Curve string
	// RelativePercent is half of the width of the 95 % interval of the force on
	// the certificate; unknown when 0.
	RelativePercent float64
	// Known is the cell of that name as it was set up before: what is not said
	// anew is kept of it. The zero Cell: there is none.
	Known store.Cell
}

// Cell makes a cell of what was heard, read as proposed.
func (s Setting) Cell(l port.Line, p Proposal) (store.Cell, error) {
	curve, err := s.curve(p)
	if err != nil {
		return store.Cell{}, err
	}
	capacity := s.Capacity
	if capacity == 0 {
		capacity = s.Known.Capacity
	}
	return store.Cell{
		ID: s.Known.ID, Version: s.Known.Version, LagSeconds: s.Known.LagSeconds,
		Name: s.Name, Line: l, Wire: p.Config, Curve: curve, Capacity: capacity, Rate: nominal(s.rate(p)),
	}, nil
}

// rate is how many readings a second are expected: as many as are asked for,
// or as came.
func (s Setting) rate(p Proposal) float64 {
	if every := p.Config.Ask.Period(); every > 0 && p.Config.Request() != nil {
		return 1 / every.Seconds()
	}
	return p.PerS
}

// curve is the curve from readings to newtons: of the unit that the cell
// sends, or as given for counts.
func (s Setting) curve(p Proposal) (c calibrate.Curve, err error) {
	u, decimals, known := p.Config.ForceUnit()
	if _, _, force := s.Known.Wire.ForceUnit(); s.Curve == "" && !known && s.Known.ID != 0 && !force {
		return s.Known.Curve, nil // both count
	}
	switch {
	case s.Curve != "":
		if c, err = calibrate.ParseCurve(s.Curve); err != nil {
			return c, err
		}
	case !known:
		return c, words.Error("listen.curve", s.Name)
	default:
		c = calibrate.Line(u, decimals)
	}
	c.Relative95 = s.RelativePercent / 100
	return c, c.Validate()
}

// nominal rounds a measured rate to two digits, as instruments are set: what
// is heard in some seconds is not known better.
func nominal(rate float64) float64 {
	if !(rate > 0) || math.IsInf(rate, 0) {
		return 0
	}
	step := math.Pow(10, math.Floor(math.Log10(rate))-1)
	return math.Round(rate/step) * step
}
