package web

import (
	"context"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/ingest/store"
)

// register is what the planner may choose from.
type register struct {
	vehicles []gear.Vehicle
	rigs     []store.Name
	fills    map[string]map[string]string // by the name of a rig; nil where there are many
	named    *rig.Rig                     // the rig that the form names, where there is one
}

// manyRigs is from how many rigs on a form does not bring along what each of
// them fills in: the script asks for that of the one that was chosen.
const manyRigs = 100

func (s *server) register(ctx context.Context, rigNamed string) (g register, err error) {
	vehicles, err := s.Store.Vehicles(ctx)
	if err != nil {
		return g, err
	}
	for _, d := range vehicles {
		g.vehicles = append(g.vehicles, d.Value)
	}
	if g.rigs, err = s.Store.RigNames(ctx); err != nil {
		return g, err
	}
	if rigNamed != "" {
		switch d, err := s.Store.RigByName(ctx, rigNamed); {
		case err == nil:
			g.named = &d.Value
		case !errorsIsNotFound(err):
			return g, err
		}
	}
	if len(g.rigs) >= manyRigs {
		return g, nil
	}
	rigs, err := s.Store.Rigs(ctx)
	g.fills = map[string]map[string]string{}
	for _, d := range rigs {
		g.fills[d.Value.Name] = rigFills(d.Value)
	}
	return g, err
}

// apiRigFills is what a rig fills in, for the script of a form.
func (s *server) apiRigFills(w http.ResponseWriter, r *http.Request) error {
	d, err := s.Store.RigByName(r.Context(), r.URL.Query().Get("name"))
	if err != nil {
		return err
	}
	writeJSON(w, http.StatusOK, rigFills(d.Value))
	return nil
}

// rig is the rig that was chosen in the form; it fills in what the form asks
// and the rig knows.
func (g register) rig(f *sheet, needed bool) *rig.Rig {
	switch name := f.typed("rig"); {
	case g.named != nil:
		f.fill(rigFills(*g.named))
	case name != "":
		f.refuse("rig", text("field.norig", name))
	case needed:
		f.refuse("rig", text("field.rig"))
	}
	return g.named
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
			out["mbs"] = typedForce(mbs)
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

// dayField lets the day of the pull be told, for ages and inspections.
func (d *desk) dayField() entry {
	return entry{Name: "on", Label: text("page.plan.pick.on"), Hint: text("page.plan.pick.on.hint")}
}

// on is the day of the pull; today where none is told.
func (d *desk) on() string {
	day := d.typed("on")
	if day == "" {
		return d.today
	}
	if !gear.Date(day).Known() {
		d.refuse("on", text("field.day", day))
	}
	return day
}

// rigField lets a rig be chosen.
func (g register) rigField(hint string) entry {
	e := entry{Name: "rig", Label: text("page.plan.pick.rig"), Hint: hint, Choices: []option{{Label: text("page.plan.pick.none")}}}
	if g.fills == nil {
		e.Ask = "/api/rigs/fills?name="
	}
	for _, r := range g.rigs {
		e.Choices = append(e.Choices, option{Value: r.Name, Label: r.Name, Fills: g.fills[r.Name]})
	}
	return e
}

// vehicleField lets a vehicle be chosen, which fills in its mass. A vehicle
// that only a rig knows can be chosen too.
func (g register) vehicleField(f *sheet, name, label, mass string) entry {
	e := entry{Name: name, Label: label, Choices: []option{{Label: text("page.plan.pick.unregistered")}}}
	for _, v := range g.vehicles {
		e.Choices = append(e.Choices, option{Value: v.Name, Label: v.Name, Fills: massFills(v, mass)})
	}
	now := f.text(name)
	if now != "" && !slices.ContainsFunc(e.Choices, func(p option) bool { return p.Value == now }) {
		e.Choices = append(e.Choices, option{Value: now, Label: strings.TrimSpace(now)})
	}
	return e
}
