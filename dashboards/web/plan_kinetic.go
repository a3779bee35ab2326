package web

import (
	"errors"
	"slices"
	"strings"

	"tautlog/analysis/plan"
	"tautlog/analysis/shock"
	"tautlog/calc/kinetic"
	"tautlog/calc/unit"
	"tautlog/dashboards/logbook"
)

// kineticForm are the fields of a kinetic pull.
func kineticForm(d *desk) []group {
	return []group{
		{Title: text("page.plan.kinetic.who-pulls-whom"), Fields: d.set(
			d.rigField(text("page.plan.kinetic.fill")),
			d.vehicleField(d.sheet, "pulling", text("page.plan.kinetic.pulling-vehicle"), "puller-mass"),
			entry{Name: "puller-mass", Label: text("page.plan.kinetic.puller-mass"), Hint: text("page.plan.kinetic.puller-mass.hint")},
			d.vehicleField(d.sheet, "stuck", text("page.plan.kinetic.stuck-vehicle"), "stuck-mass"),
			entry{Name: "stuck-mass", Label: text("page.plan.kinetic.stuck-mass"), Hint: text("page.plan.kinetic.stuck-mass.hint")},
		)},
		{Title: text("page.plan.kinetic.how-it-pulls"), Fields: d.set(
			entry{Name: "speed", Label: text("page.plan.kinetic.speed"), Hint: text("page.plan.kinetic.speed.hint")},
			entry{Name: "ground", Label: text("page.plan.kinetic.ground"), Suggest: d.grounds(), Hint: text("page.plan.kinetic.ground.hint")},
			entry{Name: "resistance", Label: text("page.plan.kinetic.resistance"), HintOf: "page.plan.kinetic.resistance.hint", Like: []unit.Force{19e3}},
		)},
		{Title: text("page.plan.kinetic.strap-or-rope"), Fields: strapFields(d)},
		{Title: text("page.plan.kinetic.run-up"), More: true, Fields: d.set(
			entry{Name: "slack", Label: text("page.plan.kinetic.slack"), Hint: text("page.plan.kinetic.slack.hint")},
			entry{Name: "drive", Label: text("page.plan.kinetic.drive"), HintOf: "page.plan.kinetic.drive.hint", Like: []unit.Force{8e3}},
			entry{Name: "grip", Label: text("page.plan.kinetic.grip"), Hint: text("page.plan.kinetic.grip.hint")},
			entry{Name: "driven", Label: text("page.plan.kinetic.driven"), Hint: text("page.plan.kinetic.driven.hint")},
			entry{Name: "slope", Label: text("page.plan.kinetic.slope"), Hint: text("page.plan.kinetic.slope.hint")},
			entry{Name: "rolling", Label: text("page.plan.kinetic.rolling"), HintOf: "page.plan.kinetic.rolling.hint", Like: []unit.Force{600}},
		)},
		{Title: text("page.plan.kinetic.more"), More: true, Fields: d.set(
			entry{Name: "at", Label: text("page.plan.kinetic.at"), HintOf: "page.plan.kinetic.at.hint", Like: []unit.Force{20e3}},
			entry{Name: "loss", Label: text("page.plan.kinetic.loss"), Hint: text("page.plan.kinetic.loss.hint")},
			entry{Name: "wet", Label: text("page.plan.kinetic.wet"), Choices: []option{{Label: text("page.plan.kinetic.no")}, {Value: "yes", Label: text("page.plan.kinetic.yes")}}},
			entry{Name: "wet-stiffness", Label: text("page.plan.kinetic.wet-stiffness"), Hint: text("page.plan.kinetic.wet-stiffness.hint")},
			entry{Name: "moving", Label: text("page.plan.kinetic.moving"), Hint: text("page.plan.kinetic.moving.hint")},
			entry{Name: "attempts", Label: text("page.plan.kinetic.attempts"), Hint: text("page.plan.kinetic.attempts.hint")},
			entry{Name: "stiffening", Label: text("page.plan.kinetic.stiffening"), Hint: text("page.plan.kinetic.stiffening.hint")},
			entry{Name: "keep-out", Label: text("page.plan.kinetic.keep-out"), Hint: text("page.plan.kinetic.keep-out.hint")},
			entry{Name: "parts-off", Label: text("page.plan.kinetic.parts-off"), Hint: text("page.plan.kinetic.parts-off.hint")},
			d.dayField(),
			entry{Name: "reference", Label: text("page.plan.kinetic.reference"), Hint: text("page.plan.kinetic.reference.hint")},
		)},
		{Title: text("page.plan.kinetic.multipliers"), Fields: d.set(entry{Name: "with", Label: text("page.plan.kinetic.with"), Choices: d.setOptions(), Long: true})},
	}
}

// readKinetic reads the form. It is whole only where the sheet is good.
func readKinetic(d *desk) plan.Kinetic {
	k := plan.Kinetic{Rig: d.rig(d.sheet, false), Ground: d.text("ground"), Strap: d.typed("strap"), Unit: d.unit, On: d.on()}
	d.vehicle(d.sheet, "pulling", "puller-mass")
	d.vehicle(d.sheet, "stuck", "stuck-mass")
	p := &k.Plan
	p.Puller = needed(d.sheet, "puller-mass", "mass", "2.95 t", unit.ParseMass, above)
	p.Stuck = needed(d.sheet, "stuck-mass", "mass", "3.2 t", unit.ParseMass, above)
	if d.text("slack") == "" {
		p.Speed = needed(d.sheet, "speed", "speed", "8 km/h", unit.ParseSpeed, notBelow)
	} else { // it may start from standstill
		p.Speed, _ = quantity(d.sheet, "speed", "speed", unit.ParseSpeed, notBelow)
	}
	p.Strap = readStrap(d.sheet)
	readRunUp(d.sheet, p)
	given := false
	p.Resistance, given = quantity(d.sheet, "resistance", "force", unit.ParseForce, notBelow)
	p.Fixed = !given
	p.Moving, _ = quantity(d.sheet, "moving", "force", unit.ParseForce, notBelow)
	p.Attempts = d.count("attempts", 1, kinetic.MaxAttempts, 1)
	p.Stiffening, _ = quantity(d.sheet, "stiffening", "share", unit.ParseShare, notBelow)
	p.KeepOut, _ = quantity(d.sheet, "keep-out", "factor", plain, above)
	p.Parts = readParts(d.sheet)
	k.Reference, _ = quantity(d.sheet, "reference", "mass", unit.ParseMass, above)
	k.With = d.chosenSet()
	if known, ok := k.KnownStretch(); ok && p.Strap.Stiffness == 0 && p.Strap.Points == nil {
		d.stretch = known.String()
	}
	return k
}

// readParts reads the masses of what might let go, one after the other.
func readParts(f *sheet) (parts []unit.Mass) {
	for _, t := range f.listed("parts-off") {
		m, err := unit.ParseMass(t)
		switch {
		case err != nil:
			f.refuse("parts-off", sentence(err.Error()))
		case !(m > 0):
			f.refuse("parts-off", text("field.zero", quantityWords("mass")))
		}
		parts = append(parts, m)
	}
	return parts
}

func readRunUp(f *sheet, p *kinetic.Plan) {
	p.Slack, _ = quantity(f, "slack", "length", unit.ParseLength, notBelow)
	p.Drive, _ = quantity(f, "drive", "force", unit.ParseForce, notBelow)
	p.Slope, _ = quantity(f, "slope", "slope", unit.ParseGrade, any0)
	p.Rolling, _ = quantity(f, "rolling", "force", unit.ParseForce, notBelow)
	driven, part := quantity(f, "driven", "share", unit.ParseShare, above)
	if g, given := quantity(f, "grip", "coefficient", plain, above); given {
		p.Grip = &kinetic.Grip{Coefficient: g, Driven: driven}
	} else if part {
		f.refuse("driven", text("field.driven"))
	}
}

// workKinetic plans a kinetic pull.
func workKinetic(d *desk) (*answer, error) {
	k := readKinetic(d)
	if !d.good() {
		return nil, nil
	}
	f, err := k.Forecast()
	if err == nil && k.Rig != nil {
		var h plan.Highest
		if h, err = f.Highest(); err == nil {
			t := tellKinetic(f, &h)
			return &t, nil
		}
	}
	switch {
	case errors.Is(err, plan.ErrMissing):
		d.lacking(k)
		return nil, nil
	case errors.Is(err, kinetic.ErrPull), errors.Is(err, kinetic.ErrSteps):
		d.refuse("speed", sentence(err.Error()))
		return nil, nil
	case err != nil && k.Rig != nil:
		d.refuse("rig", text("notjudged", err))
		return nil, nil
	case err != nil:
		return nil, err
	}
	t := tellKinetic(f, nil)
	return &t, nil
}

// setOptions are the sets to plan with, that in use first.
func (d *desk) setOptions() []option {
	out := []option{{Label: text("plan.inuse", d.inUse.Label())}}
	for _, k := range d.allSets() {
		if k.Label() != d.inUse.Label() {
			out = append(out, option{Value: setName(k.Kept), Label: k.Label()})
		}
	}
	return out
}

// allSets are those that were kept, and the rule of thumb.
func (d *desk) allSets() []logbook.Head { return withThumb(d.sets) }

func withThumb(sets []logbook.Head) []logbook.Head {
	return append(slices.Clip(sets), logbook.Head{Kept: shock.RuleOfThumb()})
}

// setName is a set in an address: its name and version.
func setName(k shock.Kept) string {
	return strings.TrimSpace(k.Name) + "@" + plainNumber(float64(k.Version))
}

// named is the set that the form names.
func (d *desk) named() (logbook.Head, bool) {
	all := d.allSets()
	i := slices.IndexFunc(all, func(k logbook.Head) bool { return setName(k.Kept) == d.typed("with") })
	if i < 0 {
		return logbook.Head{}, false
	}
	return all[i], true
}

// chosenSet is the set that is planned with: that in use where none is named.
func (d *desk) chosenSet() shock.Kept {
	if name := d.typed("with"); name != "" {
		if _, ok := d.named(); !ok {
			d.refuse("with", text("field.noset", name))
		}
	}
	return d.with.Kept
}

// grounds and straps are the words by which the set in use knows them.
func (d *desk) grounds() []string {
	return d.words(func(c shock.ClassName) string { return c.Ground })
}
func (d *desk) straps() []string {
	return d.words(func(c shock.ClassName) string { return c.Strap })
}

func (d *desk) words(of func(shock.ClassName) string) (out []string) {
	if d.inUse.Fit == nil {
		return nil
	}
	for _, c := range d.inUse.Fit.Classes {
		out = append(out, of(c.ClassName))
	}
	for _, l := range d.inUse.Fit.LeftOut {
		out = append(out, of(l.ClassName))
	}
	slices.Sort(out)
	return slices.DeleteFunc(slices.Compact(out), func(w string) bool { return w == "" })
}
