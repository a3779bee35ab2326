package steady

import (
	"math"
	"strings"

	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Setting says what the vehicle stands on: "on sand, mired to the wheels, up a
// slope of 10°".
func (p Plan) Setting() string {
	said := []string{words.Say("steady.on.nothing")}
	switch {
	case p.OwnRolling != nil:
		said[0] = words.Say("steady.on.own")
	case p.Surface != nil:
		said[0] = words.Say("steady.on", p.Surface.Words())
	}
	switch {
	case p.OwnMire != nil:
		said = append(said, words.Say("steady.in.own"))
	case p.Mire != NoMire && p.Mire != "":
		said = append(said, words.Say("steady.in", p.Mire.Words()))
	}
	if p.Grade > 0 {
		said = append(said, words.Say("steady.up", p.Grade))
	}
	if p.Side > 0 {
		said = append(said, words.Say("steady.across", p.Side))
	}
	return strings.Join(said, words.Say("steady.and"))
}

// Laid says how the line is laid, and what hauls it.
func (p Plan) Laid(u unit.ForceUnit) string {
	s := words.Say("steady.laid", words.Count("steady.parts", p.Line.Parts), words.Count("steady.over", p.Line.Sheaves))
	if p.Winch == nil {
		return s
	}
	winch := words.Say("steady.winch.full", p.Winch.Rated.Show(u, 0))
	if p.Winch.Layer != FullDrum {
		winch = words.Say("steady.winch", p.Winch.Rated.Show(u, 0), p.Winch.Layer)
	}
	return s + " " + winch
}

// Asks says which share of the winch's pull the line takes: "62 % of it". The
// result is one with a winch.
func (r Result) Asks() string {
	low, high := 100*float64(r.Line.Low/r.Winch.Pull.High), 100*float64(r.Line.High/r.Winch.Pull.Low)
	if math.Round(low) == math.Round(high) {
		return words.Say("steady.asks", high)
	}
	return words.Say("steady.asks.range", low, high)
}

// Needs says how many line parts the winch takes, where so many are planned.
// The result is one with a winch.
func (r Result) Needs(planned int) string {
	wide := r.Resistance.Wide() || r.Winch.Pull.Wide()
	switch {
	case r.Winch.Parts == 0 && wide:
		return words.Say("steady.needs.more.wide", MaxParts)
	case r.Winch.Parts == 0:
		return words.Say("steady.needs.more", MaxParts)
	case wide:
		return words.Count("steady.needs.wide", r.Winch.Parts, planned)
	}
	return words.Count("steady.needs", r.Winch.Parts, planned)
}
