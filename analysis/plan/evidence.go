package plan

import (
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Source is what an evidence rests on.
type Source string

// The sources, the most specific first.
const (
	BySpeed Source = "speed fit" // logged pulls of known speed with this strap on this ground
	ByClass Source = "class"     // logged pulls of this kind, ground and strap
	ByWord  Source = "assumed"   // what somebody states
	ByModel Source = "model"     // calc/kinetic, with what was entered
)

// Evidence is what one source says of the peak.
type Evidence struct {
	From Source
	// Expected is the middle; nil where the source gives none.
	Expected *unit.Force
	// Upper is what the source would plan with; nil where it gives none.
	Upper *unit.Force
	// Multiplier is Upper, or else Expected, over the reference weight.
	Multiplier float64
	// Used says that the planning peak is that of this source.
	Used bool
	// Text says where it is from, in one sentence.
	Text string
}

// evidence gathers what every source says of the pull at a speed, the most
// specific first.
func (p *prepared) evidence(at modelled) []Evidence {
	var out []Evidence
	if e, ok := p.bySpeed(at); ok {
		out = append(out, e)
	}
	if e, ok := p.byMultiplier(); ok {
		out = append(out, e)
	}
	model := at.worst
	out = append(out, Evidence{From: ByModel, Expected: &model, Text: words.Say("forecast.model")})
	for i := range out {
		out[i].Multiplier = p.multiple(out[i])
	}
	return out
}

func (p *prepared) multiple(e Evidence) float64 {
	f := e.Upper
	if f == nil {
		f = e.Expected
	}
	return float64(*f / p.k.Reference.Weight())
}

// bySpeed asks the fit by speed.
func (p *prepared) bySpeed(at modelled) (Evidence, bool) {
	if p.fit == nil {
		return Evidence{}, false
	}
	expected, upper, err := p.fit.Peak(p.logged(at.taut))
	if err != nil {
		return Evidence{}, false
	}
	e := Evidence{From: BySpeed, Expected: &expected, Upper: upper, Text: words.Say("forecast.by-speed", words.Count("shock.pulls", p.fit.Pulls), words.Count("shock.days", p.fit.Days), p.k.With.Label())}
	if upper == nil {
		e.Text = words.Say("forecast.also", e.Text, words.Say("forecast.few-days"))
	}
	if p.out.Push.Net() > 0 {
		e.Text = words.Say("forecast.also", e.Text, words.Say("forecast.no-drive"))
	}
	return e, true
}

// byMultiplier asks the class, or the assumption.
func (p *prepared) byMultiplier() (Evidence, bool) {
	if !p.hasMultiplier {
		return Evidence{}, false
	}
	weight := p.k.Reference.Weight()
	upper := unit.Force(p.multiplier.Upper) * weight
	e := Evidence{From: ByWord, Upper: &upper, Text: p.multiplier.Text}
	if p.multiplier.Fitted {
		e.From = ByClass
	}
	if m := p.multiplier.Median; m != nil {
		expected := unit.Force(*m) * weight
		e.Expected = &expected
	}
	return e, true
}

// choose marks the evidence to plan with, the first that has a bound, and
// gives the expected and the planning peak: never below the model's own.
func choose(all []Evidence) (expected, planning unit.Force) {
	model := &all[len(all)-1]
	expected, planning = *model.Expected, *model.Expected
	used := model
	for i := range all {
		if all[i].Upper == nil {
			continue
		}
		if all[i].Expected != nil {
			expected = *all[i].Expected
		}
		if *all[i].Upper > planning {
			planning, used = *all[i].Upper, &all[i]
		}
		break
	}
	used.Used = true
	return expected, planning
}
