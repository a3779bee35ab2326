package steady

import (
	"fmt"
	"math"

	"tautlog/calc/unit"
)

// Setting says what the vehicle stands on: "on sand, mired to the wheels, up a
// slope of 10°".
func (p Plan) Setting() string {
	s := "on ground that was not named"
	switch {
	case p.OwnRolling != nil:
		s = "on ground that was measured"
	case p.Surface != nil:
		s = "on " + p.Surface.Name
	}
	switch {
	case p.OwnMire != nil:
		s += ", in mire that was measured"
	case p.Mire != NoMire && p.Mire != "":
		s += ", mired " + p.Mire.Words()
	}
	if p.Grade > 0 {
		s += ", up a slope of " + p.Grade.String()
	}
	if p.Side > 0 {
		s += ", across a slope of " + p.Side.String()
	}
	return s
}

// Laid says how the line is laid, and what hauls it.
func (p Plan) Laid(u unit.ForceUnit) string {
	s := fmt.Sprintf("The line pulls with %s over %s.", count(p.Line.Parts, "part"), count(p.Line.Sheaves, "sheave"))
	if p.Winch == nil {
		return s
	}
	layer := "a full drum"
	if p.Winch.Layer != FullDrum {
		layer = fmt.Sprintf("layer %d on the drum", p.Winch.Layer)
	}
	return fmt.Sprintf("%s The winch is rated %s, with %s.", s, p.Winch.Rated.Show(u, 0), layer)
}

// Asks says which share of the winch's pull the line takes: "62 % of it". The
// result is one with a winch.
func (r Result) Asks() string {
	low, high := 100*float64(r.Line.Low/r.Winch.Pull.High), 100*float64(r.Line.High/r.Winch.Pull.Low)
	if math.Round(low) == math.Round(high) {
		return fmt.Sprintf("%.0f %% of it", high)
	}
	return fmt.Sprintf("%.0f %% to %.0f %% of it", low, high)
}

// Needs says how many line parts the winch takes, where so many are planned.
// The result is one with a winch.
func (r Result) Needs(planned int) string {
	where := ""
	if r.Resistance.Wide() || r.Winch.Pull.Wide() {
		where = "at the high end of the resistance and the low end of the winch "
	}
	takes := fmt.Sprintf("it takes %s; planned: %d", count(r.Winch.Parts, "line part"), planned)
	if r.Winch.Parts == 0 {
		takes = fmt.Sprintf("not even %d line parts are enough", MaxParts)
	}
	return fmt.Sprintf("For the line to stay below that, %s%s.", where, takes)
}

func count(n int, noun string) string {
	if n != 1 {
		noun += "s"
	}
	return fmt.Sprintf("%d %s", n, noun)
}
