package web

import (
	"errors"
	"strconv"

	"tautlog/analysis/plan"
	"tautlog/analysis/pull"
	"tautlog/analysis/rating"
	"tautlog/calc/steady"
	"tautlog/calc/unit"
)

// steadyForm are the fields of a steady pull.
func steadyForm(d *desk) []group {
	surfaces := []option{{Label: text("page.plan.steady.not-counted")}}
	for _, x := range steady.Surfaces() {
		surfaces = append(surfaces, option{Value: x.Name, Label: x.Words()})
	}
	mires := []option{}
	for _, m := range steady.Mires() {
		mires = append(mires, option{Value: string(m), Label: m.Words()})
	}
	layers := []option{{Value: "1", Label: "1"}}
	for n := 2; n <= steady.LastLayer(); n++ {
		layers = append(layers, option{Value: strconv.Itoa(n), Label: strconv.Itoa(n)})
	}
	layers = append(layers, option{Value: "full", Label: text("page.plan.steady.full")})
	return []group{
		{Title: text("page.plan.steady.what-is-stuck"), Fields: d.set(
			d.vehicleField(d.sheet, "stuck", text("page.plan.steady.vehicle"), "stuck-mass"),
			entry{Name: "stuck-mass", Label: text("page.plan.steady.stuck-mass"), Hint: text("page.plan.steady.stuck-mass.hint")},
			entry{Name: "surface", Label: text("page.plan.steady.surface"), Choices: surfaces},
			entry{Name: "mire", Label: text("page.plan.steady.mire"), Choices: mires},
			entry{Name: "grade", Label: text("page.plan.steady.grade"), Hint: text("page.plan.steady.grade.hint")},
		)},
		{Title: text("page.plan.steady.line-laid"), Fields: d.set(
			d.rigField(text("page.plan.steady.rig-for")),
			entry{Name: "parts", Label: text("page.plan.steady.parts"), Hint: text("page.plan.steady.parts.hint")},
			entry{Name: "redirects", Label: text("page.plan.steady.redirects"), Hint: text("page.plan.steady.redirects.hint")},
		)},
		{Title: text("page.plan.steady.the-winch"), More: true, Fields: d.set(
			entry{Name: "winch", Label: text("page.plan.steady.winch"), Hint: text("page.plan.steady.winch.hint")},
			entry{Name: "layer", Label: text("page.plan.steady.layer"), Choices: layers},
			entry{Name: "sheaves", Label: text("page.plan.steady.sheaves"), Hint: text("page.plan.steady.sheaves.hint")},
			entry{Name: "loss", Label: text("page.plan.steady.loss"), Hint: text("page.plan.steady.loss.hint")},
			entry{Name: "anchor-lines", Label: text("page.plan.steady.anchor-lines"), Hint: text("page.plan.steady.anchor-lines.hint")},
		)},
		{Title: text("page.plan.steady.damage-side-slope"), More: true, Fields: d.set(
			entry{Name: "drag", Label: text("page.plan.steady.drag"), HintOf: "page.plan.steady.drag.hint", Like: []unit.Force{3e3, 3e3, 5e3}},
			entry{Name: "penetration", Label: text("page.plan.steady.penetration"), Hint: text("page.plan.steady.penetration.hint")},
			entry{Name: "side", Label: text("page.plan.steady.side"), Hint: text("page.plan.steady.side.hint")},
			entry{Name: "own-rolling", Label: text("page.plan.steady.own-rolling"), Hint: text("page.plan.steady.own-rolling.hint")},
			entry{Name: "own-mire", Label: text("page.plan.steady.own-mire"), Hint: text("page.plan.steady.own-mire.hint")},
			entry{Name: "own-from", Label: text("page.plan.steady.own-from"), Long: true},
			d.dayField(),
		)},
	}
}

// readSteady reads the form. It is whole only where the sheet is good.
func readSteady(d *desk) steady.Plan {
	d.rig(d.sheet, false)
	d.vehicle(d.sheet, "stuck", "stuck-mass")
	p := steady.Plan{Mass: needed(d.sheet, "stuck-mass", "mass", "3.2 t", unit.ParseMass, above)}
	p.Surface, p.Mire = readSurface(d.sheet), steady.Mire(d.text("mire"))
	if _, err := steady.ParseMire(string(p.Mire)); p.Mire != "" && err != nil {
		d.refuse("mire", sentence(err.Error()))
	}
	p.Grade, _ = quantity(d.sheet, "grade", "slope", unit.ParseGrade, notBelow)
	p.Side, _ = quantity(d.sheet, "side", "slope", unit.ParseGrade, notBelow)
	p.Penetration, _ = quantity(d.sheet, "penetration", "depth", unit.ParseLength, notBelow)
	p.Drag, _ = between(d.sheet, "drag", "force", unit.ParseForce)
	p.OwnRolling, p.OwnMire = readOwn(d.sheet, "own-rolling"), readOwn(d.sheet, "own-mire")
	p.Line, p.Winch = readLine(d.sheet), readWinch(d.sheet)
	if p.Surface == nil && p.OwnRolling == nil && p.OwnMire == nil && (p.Mire == "" || p.Mire == steady.NoMire) {
		d.refuse("surface", text("field.surface"))
	}
	return p
}

func readSurface(f *sheet) *steady.Surface {
	name := f.text("surface")
	if name == "" {
		return nil
	}
	x, err := steady.SurfaceNamed(name)
	if err != nil {
		f.refuse("surface", sentence(err.Error()))
		return nil
	}
	return &x
}

// between reads a quantity or a range of it.
func between[T ~float64](f *sheet, name, what string, parse func(string) (T, error)) (steady.Range[T], bool) {
	t := f.text(name)
	if t == "" {
		return steady.Range[T]{}, false
	}
	v, err := steady.ParseRange(t, what, parse)
	if err != nil {
		f.refuse(name, sentence(err.Error()))
	}
	return v, err == nil
}

func readOwn(f *sheet, name string) *steady.Own {
	share, given := between(f, name, "share", unit.ParseShare)
	if !given {
		return nil
	}
	if f.text("own-from") == "" {
		f.refuse("own-from", text("field.ownfrom"))
	}
	return &steady.Own{Share: share, From: f.text("own-from")}
}

func readLine(f *sheet) steady.Line {
	l := steady.Line{Parts: f.count("parts", 1, steady.MaxParts, 1)}
	if parts := f.filled["parts"]; parts != "" && f.typed("parts") != "" && f.typed("parts") != parts {
		f.refuse("parts", text("field.rigparts", parts))
	}
	for _, t := range f.listed("redirects") {
		a, err := unit.ParseAngle(t)
		if err != nil {
			f.refuse("redirects", sentence(err.Error()))
		}
		l.Redirects = append(l.Redirects, a)
	}
	l.Sheaves = f.count("sheaves", 0, 2*steady.MaxParts, max(0, steady.UsualSheaves(l.Parts, len(l.Redirects))))
	l.AnchorLines = f.count("anchor-lines", 1, steady.MaxParts, 0)
	if loss, given := quantity(f, "loss", "share", unit.ParseShare, notBelow); given {
		l.Loss = &loss
	}
	return l
}

func readWinch(f *sheet) *steady.Winch {
	rated, given := quantity(f, "winch", "force", unit.ParseStamped, above)
	if !given {
		return nil
	}
	w := steady.Winch{Rated: rated, Layer: steady.FullDrum}
	if f.text("layer") != "full" {
		w.Layer = f.count("layer", 1, steady.LastLayer(), 1)
	}
	return &w
}

// workSteady plans a steady pull.
func workSteady(d *desk) (*answer, error) {
	p := readSteady(d)
	if !d.good() {
		return nil, nil
	}
	r, err := steady.Calculate(p)
	if errors.Is(err, steady.ErrPlan) {
		d.refuse("stuck-mass", sentence(err.Error()))
		return nil, nil
	} else if err != nil {
		return nil, err
	}
	t := tellSteady(p, r, d.unit)
	t.Judged, err = judged(d, rating.Peak{Value: r.Line.Likely, Low: r.Line.Low, High: r.Line.High, Kind: pull.Steady})
	return &t, err
}

// judged holds a force of the line against the rig that was chosen.
func judged(d *desk, force rating.Peak) (*judgement, error) {
	g := d.rig(d.sheet, false)
	if g == nil {
		return nil, nil
	}
	force.On = d.on()
	o, err := plan.Pull{Rig: *g, Force: force, Unit: d.unit}.Outlook()
	if err != nil {
		d.refuse("rig", text("notjudged", err))
		return nil, nil
	}
	return &judgement{Rig: *g, Result: o.Result, Most: text("plan.most"), Largest: o.Largest.Text(d.unit), Bridles: bridles(o.Forks, d.unit), Reading: about(max(force.Value, force.High), d.unit)}, nil
}
