package plan

import (
	"strings"

	"tautlog/calc/kinetic"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Recoil is what could fly if the line let go at a force.
type Recoil struct {
	Energy float64 // of the line, in joules
	Parts  []Part
	// KeepOut is the distance from the line and its ends that people keep; 0
	// where the length of the line is not known. Length is what it is a multiple
	// of: the recorded lengths of what lies in line, added up.
	KeepOut, Length unit.Length
	Factor          float64
}

// Part is something that could let go, with the bound of its speed.
type Part struct {
	Name  string // empty: a part that was not named
	Mass  unit.Mass
	Speed unit.Speed
}

// recoil is that at the force, by the energy that the line takes to it.
func (p *prepared) recoil(f unit.Force) Recoil {
	r := Recoil{Energy: energy(p.out.Pull.Line.Curve, f), Length: p.length(), Factor: p.out.KeepAway}
	r.KeepOut = kinetic.KeepOut(r.Length, r.Factor)
	r.Parts = p.parts()
	for i, part := range r.Parts {
		r.Parts[i].Speed = kinetic.RecoilSpeed(r.Energy, part.Mass)
	}
	return r
}

// parts are the items of the rig whose mass is recorded, or else what the plan
// asks for.
func (p *prepared) parts() (out []Part) {
	if p.k.Rig != nil && len(p.k.Plan.Parts) == 0 {
		places, _ := p.k.Rig.LinePlaces("") // solved before
		for _, place := range places {
			if m := place.Use.Item.Mass; m != nil && *m > 0 {
				out = append(out, Part{Name: place.Use.Item.Name, Mass: *m})
			}
		}
	}
	if len(out) == 0 {
		for _, r := range p.out.Recoil {
			out = append(out, Part{Mass: r.Part})
		}
	}
	return out
}

// length is that of the line, at least that of the strap.
func (p *prepared) length() unit.Length {
	sum := unit.Length(0)
	if p.k.Rig != nil {
		sum = inLineLength(*p.k.Rig)
	}
	return max(sum, p.k.Plan.Strap.Length)
}

// inLineLength adds up what is recorded of the links in line, and the straps
// of bridles in full.
func inLineLength(r rig.Rig) (sum unit.Length) {
	add := func(u *rig.Use) {
		if u != nil && u.Item.Length != nil {
			sum += *u.Item.Length
		}
	}
	for _, l := range r.Chain {
		add(l.Use)
		if l.Bridle != nil {
			add(l.Bridle.Strap)
		}
	}
	return sum
}

// energy is what loading the line to a force takes.
func energy(c kinetic.Curve, f unit.Force) float64 {
	low, high := 0.0, 1.0
	for c.Force(high) < float64(f) && high < 1e9 {
		high *= 2
	}
	for range 100 {
		if x := (low + high) / 2; c.Force(x) < float64(f) {
			low = x
		} else {
			high = x
		}
	}
	return c.Energy(high)
}

// Text says it in sentences.
func (r Recoil) Text() []string {
	var parts, out []string
	for _, p := range r.Parts {
		if p.Name != "" {
			parts = append(parts, words.Say("forecast.part.named", p.Name, p.Mass, p.Speed))
		} else {
			parts = append(parts, words.Say("forecast.part", p.Mass, p.Speed))
		}
	}
	if len(parts) > 0 {
		out = append(out, words.Say("forecast.energy", r.Energy/1000, strings.Join(parts, ", ")))
	}
	if r.KeepOut > 0 {
		out = append(out, words.Say("forecast.keepout", r.KeepOut, r.Factor, r.Length))
	}
	return out
}
