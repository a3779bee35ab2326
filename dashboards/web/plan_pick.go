package web

import (
	"context"
	"math"
	"slices"
	"strconv"
	"strings"

	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
)

// register is what the planner may choose from.
type register struct {
	vehicles []gear.Vehicle
	rigs     []rig.Rig
}

func (s *server) register(ctx context.Context) (register, error) {
	var g register
	vehicles, err := s.Store.Vehicles(ctx)
	if err != nil {
		return g, err
	}
	for _, d := range vehicles {
		g.vehicles = append(g.vehicles, d.Value)
	}
	rigs, err := s.Store.Rigs(ctx)
	for _, d := range rigs {
		g.rigs = append(g.rigs, d.Value)
	}
	return g, err
}

// rig is the rig that was chosen in the form; it fills in what the form asks
// and the rig knows.
func (g register) rig(f *sheet, needed bool) *rig.Rig {
	name := f.typed("rig")
	for _, r := range g.rigs {
		if r.Name == name {
			f.fill(rigFills(r))
			return &r
		}
	}
	switch {
	case name != "":
		f.refuse("rig", text("field.norig", name))
	case needed:
		f.refuse("rig", text("field.rig"))
	}
	return nil
}

// vehicle fills in the mass of the vehicle that was chosen in a field.
func (g register) vehicle(f *sheet, field, mass string) {
	name := f.text(field)
	for _, v := range g.vehicles {
		if v.Name == name && f.typed(field) != "" {
			f.fill(massFills(v, mass))
		}
	}
}

// massFills is the mass as loaded, under the name of a field: as weighed, or
// that on the plate.
func massFills(v gear.Vehicle, field string) map[string]string {
	switch {
	case v.Weighed != nil:
		return map[string]string{field: kilograms(*v.Weighed)}
	case v.GVM != nil:
		return map[string]string{field: kilograms(*v.GVM)}
	}
	return nil
}

// rigFills is what a rig says of a plan, by the fields of the forms.
func rigFills(r rig.Rig) map[string]string {
	out := map[string]string{"pulling": r.Pulling.Name, "stuck": r.Stuck.Name}
	for _, m := range []map[string]string{massFills(r.Pulling, "puller-mass"), massFills(r.Stuck, "stuck-mass")} {
		for k, v := range m {
			out[k] = v
		}
	}
	if at, ok := r.Stretching(); ok {
		it := at.Use.Item
		out["strap"] = string(it.Kind)
		if it.Length != nil {
			out["length"] = typedAs(float64(*it.Length), "m")
		}
		if it.Stiffness != nil {
			out["stiffness"] = typedAs(float64(*it.Stiffness)/1000, "kN/m")
		}
		if mbs := it.StatedMBS(); mbs > 0 {
			out["mbs"] = typedAs(mbs.In(unit.Kilonewton), "kN")
		}
	}
	for _, l := range r.Chain {
		if l.Tackle != nil {
			out["parts"] = strconv.Itoa(l.Tackle.Parts)
		}
	}
	return out
}

// typedAs writes a quantity as it would be typed, to a hundredth.
func typedAs(v float64, u string) string {
	return strconv.FormatFloat(math.Round(v*100)/100, 'f', -1, 64) + " " + u
}

func kilograms(m unit.Mass) string { return typedAs(math.Round(float64(m)), "kg") }

// rigField lets a rig be chosen.
func (g register) rigField(hint string) entry {
	e := entry{Name: "rig", Label: "Rig", Hint: hint, Choices: []option{{Label: "none"}}}
	for _, r := range g.rigs {
		e.Choices = append(e.Choices, option{Value: r.Name, Label: r.Name, Fills: rigFills(r)})
	}
	return e
}

// vehicleField lets a vehicle be chosen, which fills in its mass. A vehicle
// that only a rig knows can be chosen too.
func (g register) vehicleField(f *sheet, name, label, mass string) entry {
	e := entry{Name: name, Label: label, Choices: []option{{Label: "not in the register"}}}
	for _, v := range g.vehicles {
		e.Choices = append(e.Choices, option{Value: v.Name, Label: v.Name, Fills: massFills(v, mass)})
	}
	now := f.text(name)
	if now != "" && !slices.ContainsFunc(e.Choices, func(p option) bool { return p.Value == now }) {
		e.Choices = append(e.Choices, option{Value: now, Label: strings.TrimSpace(now)})
	}
	return e
}
