package web

import (
	"strconv"

	"tautlog/calc/gear"
	"tautlog/calc/unit"
)

// itemTyped is an item as it would be typed into its form.
func itemTyped(it gear.Item) map[string]string {
	out := map[string]string{
		"name": it.Name, "kind": string(it.Kind), "id": it.ID, "vehicle": it.Vehicle, "where": it.Where, "maker": it.Maker,
		"serial": it.Serial, "made": it.Made, "notes": it.Notes, "length": typedOf(it.Length, "m", 1), "mass": typedOf(it.Mass, "kg", 1),
		"stiffness": typedOf(it.Stiffness, "kN/m", 1e-3), "every": typedCount(it.InspectEvery),
		"ratings": strconv.Itoa(max(1, len(it.Ratings))), "bolts": "1",
	}
	for i, r := range it.Ratings {
		typedRating(out, i+1, r)
	}
	if r := it.RetireRule; r != nil {
		out["max-age"], out["max-pulls"], out["by"], out["rule-notes"] = typedOf(r.MaxAge, "", 1), typedCount(r.MaxPulls), string(r.By), r.Notes
		out["max-peak"] = typedOf(r.MaxPeak, "%", 100)
	}
	if f := it.Fixing; f != nil {
		typedFixing(out, *f)
	}
	return out
}

// typedOf is a quantity in a unit, with up to six digits; empty where it is
// not known. A field that is left as it was leaves the value as it was.
func typedOf[T ~float64](v *T, u string, scale float64) string {
	if v == nil {
		return ""
	}
	s := strconv.FormatFloat(float64(*v)*scale, 'g', 6, 64)
	if u == "" || u == "%" {
		return s + u
	}
	return s + " " + u
}

func typedCount(n *int) string {
	if n == nil {
		return ""
	}
	return strconv.Itoa(*n)
}

func typedRating(out map[string]string, i int, r gear.Rating) {
	n := func(name string) string { return nth("r", i, name) }
	out[n("value")], out[n("basis")], out[n("factor")] = typedForce(r.Value), string(r.Basis), typedOf(r.DesignFactor, "", 1)
	out[n("from")], out[n("together")], out[n("stamp")] = string(r.FactorFrom), string(r.Together), r.Stamp
	if !r.Direction.IsZero() {
		out[n("direction")] = r.Direction.String()
	}
}

// typedForce is a force in the unit in which it is a round number: what is
// stamped in tonnes is typed in tonnes.
func typedForce(f unit.Force) string {
	for _, u := range []unit.ForceUnit{unit.Kilonewton, unit.TonneF, unit.PoundF, unit.KilogramF} {
		s := strconv.FormatFloat(f.In(u), 'g', 5, 64)
		if back, err := unit.ParseForce(s + string(u)); err == nil && near(float64(back), float64(f)) {
			return s + " " + string(u)
		}
	}
	return typedOf(&f, "kN", 1e-3)
}

func near(a, b float64) bool { return a-b < 1e-9*b && b-a < 1e-9*b }

func typedFixing(out map[string]string, f gear.Fixing) {
	out["member"], out["engineered"], out["tested"] = f.Member, string(f.Engineered), string(f.Tested)
	if p := f.Plate; p != nil {
		out["plate"], out["steel"] = typedOf(p.Thickness, "mm", 1000), string(p.Steel)
	}
	out["bolts"] = strconv.Itoa(max(1, len(f.Bolts)))
	for i, b := range f.Bolts {
		n := func(name string) string { return nth("b", i+1, name) }
		if b.Count > 0 {
			out[n("count")] = strconv.Itoa(b.Count)
		}
		out[n("size")], out[n("class")], out[n("plane")], out[n("axis")] = string(b.Size), string(b.Class), string(b.Plane), string(b.Axis)
		for name, v := range boltLengths(&b) {
			out[n(name)] = typedOf(*v, "mm", 1000)
		}
	}
}

// boltLengths are the lengths of a group of bolts by their fields.
func boltLengths(b *gear.Bolts) map[string]**unit.Length {
	return map[string]**unit.Length{
		"pitch": &b.Pitch, "lever": &b.Lever, "rows": &b.Rows, "hole": &b.Hole, "end": &b.End, "edge": &b.Edge, "spacing": &b.Spacing, "gauge": &b.Gauge,
	}
}
