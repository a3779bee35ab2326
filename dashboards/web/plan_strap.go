package web

import (
	"errors"
	"strings"

	"tautlog/analysis/plan"
	"tautlog/calc/kinetic"
	"tautlog/calc/strict"
	"tautlog/calc/unit"
)

// strapFields are the fields of the strap. The ones that are left empty say
// what stands in for them, and from where.
func strapFields(d *desk) []entry {
	return d.set(
		entry{Name: "strap", Label: text("page.plan.kinetic.strap"), Suggest: d.straps(), Hint: text("page.plan.kinetic.strap.hint")},
		d.fromRig(entry{Name: "length", Label: text("page.plan.kinetic.length"), Hint: text("page.plan.kinetic.length.hint")}),
		d.fromRig(entry{Name: "mbs", Label: text("page.plan.kinetic.mbs"), HintOf: "page.plan.kinetic.mbs.hint", Like: []unit.Force{78e3}}),
		entry{Name: "elongation", Label: text("page.plan.kinetic.elongation"), Hint: d.stretchHint()},
		d.fromRig(entry{Name: "stiffness", Label: text("page.plan.kinetic.stiffness"), Hint: text("page.plan.kinetic.stiffness.hint")}),
		entry{Name: "curve", Label: text("page.plan.kinetic.curve"), Hint: text("page.plan.kinetic.curve.hint"), Area: true, Most: mostCurve, Reads: text("page.plan.kinetic.curve.file")},
	)
}

// mostCurve is how many characters of a measured curve fit into the address of
// a plan: some two hundred points.
const mostCurve = 4000

// fromRig says of a field which item of the register its value is from.
func (d *desk) fromRig(e entry) entry {
	if v := d.filled[e.Name]; v != "" && d.text(e.Name) == v && d.register.named != nil {
		if at, ok := d.register.named.Stretching(); ok {
			e.Hint, e.HintOf, e.Like = text("plan.ofitem", at.Use.Item.Name), "", nil
		}
	}
	return e
}

// stretchHint says what stands in where nobody says how the strap stretches.
func (d *desk) stretchHint() string {
	if d.stretch != "" {
		return text("plan.stretch.is", d.stretch)
	}
	var names []string
	for _, c := range plan.Stretches(d.inUse.Kept) {
		if c.Name != "" {
			names = append(names, c.Name)
		}
	}
	if len(names) == 0 || len(names) > 6 {
		return text("page.plan.kinetic.elongation.hint")
	}
	return text("page.plan.kinetic.elongation.hint") + text("plan.stretch.known", strings.Join(names, "; "))
}

// readStrap reads the strap. How it stretches is told in one way; what a
// person writes goes before what the rig filled in.
func readStrap(f *sheet) (s kinetic.Strap) {
	s.Length, _ = quantity(f, "length", "length", unit.ParseLength, above)
	s.MBS, _ = quantity(f, "mbs", "force", unit.ParseStamped, above)
	s.Elongation, _ = quantity(f, "elongation", "share", unit.ParseShare, above)
	s.At, _ = quantity(f, "at", "force", unit.ParseForce, above)
	s.Points = readCurve(f, s.Length)
	own := f.typed("elongation") != "" || f.typed("curve") != ""
	if !own || f.typed("stiffness") != "" && f.typed("stiffness") != f.filled["stiffness"] {
		s.Stiffness, _ = quantity(f, "stiffness", "stiffness", unit.ParseStiffness, above)
	}
	s.Loss, _ = quantity(f, "loss", "share", unit.ParseShare, notBelow)
	s.Wet = f.text("wet") == "yes"
	s.WetStiffness, _ = quantity(f, "wet-stiffness", "share", unit.ParseShare, above)
	checkStrap(f, s)
	return s
}

// checkStrap says beside the field what does not go together.
func checkStrap(f *sheet, s kinetic.Strap) {
	switch {
	case f.typed("curve") != "" && (s.Elongation > 0 || s.Stiffness > 0):
		f.refuse("curve", text("field.stretch.twice"))
	case s.Elongation > 0 && s.Stiffness > 0:
		f.refuse("stiffness", text("field.stretch.twice"))
	case s.Elongation > 0 && s.Length == 0:
		f.refuse("length", text("field.stretch.length"))
	case s.Elongation > 0 && s.MBS == 0 && s.At == 0:
		f.refuse("mbs", text("field.stretch.mbs"))
	case f.typed("at") != "" && f.typed("elongation") == "":
		f.refuse("at", text("field.stretch.at"))
	case s.WetStiffness > 0 && !s.Wet:
		f.refuse("wet-stiffness", text("field.stretch.wet"))
	}
}

// readCurve reads a measured loading curve.
func readCurve(f *sheet, length unit.Length) []kinetic.Point {
	table := f.typed("curve")
	if table == "" {
		return nil
	}
	if len(table) > mostCurve {
		f.refuse("curve", text("field.curve.long", mostCurve))
		return nil
	}
	points, err := kinetic.ReadPoints(strings.NewReader(table), length, decimalCommas(table))
	if err != nil {
		f.refuse("curve", tableSays(err))
	}
	return points
}

// tableSays tells what is wrong with a table that a page was given. That its
// commas are decimal is told by its columns, for want of a flag.
func tableSays(err error) string {
	if e, ok := errors.AsType[*strict.Error](err); ok && errors.Is(err, strict.ErrComma) {
		return text("field.comma", e.Line)
	}
	return sentence(err.Error())
}

// decimalCommas tells whether the commas of a table stand in its numbers: they
// do where something else stands between its columns.
func decimalCommas(table string) bool {
	return strings.ContainsAny(table, ";\t")
}

// lacking says beside the field what a plan lacks that neither its form nor its
// rig nor its set tells.
func (d *desk) lacking(k plan.Kinetic) {
	if _, known := k.KnownStretch(); known {
		if k.Plan.Strap.Length == 0 {
			d.refuse("length", text("field.stretch.length"))
			return
		}
		d.refuse("mbs", text("field.stretch.mbs"))
		return
	}
	d.refuse("elongation", text("field.stretch"))
}
