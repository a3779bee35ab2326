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
			d.rigField(text("page.plan.kinetic.fills-in-vehicles")),
			d.vehicleField(d.sheet, "pulling", text("page.plan.kinetic.pulling-vehicle"), "puller-mass"),
			entry{Name: "puller-mass", Label: text("page.plan.kinetic.puller-mass"), Hint: text("page.plan.kinetic.puller-mass.hint")},
			d.vehicleField(d.sheet, "stuck", text("page.plan.kinetic.stuck-vehicle"), "stuck-mass"),
			entry{Name: "stuck-mass", Label: text("page.plan.kinetic.stuck-mass"), Hint: text("page.plan.kinetic.stuck-mass.hint")},
		)},
		{Title: text("page.plan.kinetic.how-it-pulls"), Fields: d.set(
			entry{Name: "speed", Label: text("page.plan.kinetic.speed"), Hint: text("page.plan.kinetic.speed.hint")},
			entry{Name: "ground", Label: text("page.plan.kinetic.ground"), Suggest: d.grounds(), Hint: text("page.plan.kinetic.ground.hint")},
			entry{Name: "resistance", Label: text("page.plan.kinetic.resistance"), Hint: text("page.plan.kinetic.resistance.hint"), Like: []unit.Force{19e3}},
		)},
		{Title: text("page.plan.kinetic.the-strap-or"), Fields: d.set(
			entry{Name: "strap", Label: text("page.plan.kinetic.strap"), Suggest: d.straps(), Hint: text("page.plan.kinetic.strap.hint")},
			entry{Name: "length", Label: text("page.plan.kinetic.length"), Hint: text("page.plan.kinetic.length.hint")},
			entry{Name: "mbs", Label: text("page.plan.kinetic.mbs"), Hint: text("page.plan.kinetic.mbs.hint"), Like: []unit.Force{78e3}},
			entry{Name: "elongation", Label: text("page.plan.kinetic.elongation"), Hint: text("page.plan.kinetic.elongation.hint")},
			entry{Name: "stiffness", Label: text("page.plan.kinetic.stiffness"), Hint: text("page.plan.kinetic.stiffness.hint")},
		)},
		{Title: text("page.plan.kinetic.run-up-and"), More: true, Fields: d.set(
			entry{Name: "slack", Label: text("page.plan.kinetic.slack"), Hint: text("page.plan.kinetic.slack.hint")},
			entry{Name: "drive", Label: text("page.plan.kinetic.drive"), Hint: text("page.plan.kinetic.drive.hint"), Like: []unit.Force{8e3}},
			entry{Name: "grip", Label: text("page.plan.kinetic.grip"), Hint: text("page.plan.kinetic.grip.hint")},
			entry{Name: "slope", Label: text("page.plan.kinetic.slope"), Hint: text("page.plan.kinetic.slope.hint")},
			entry{Name: "rolling", Label: text("page.plan.kinetic.rolling"), Hint: text("page.plan.kinetic.rolling.hint"), Like: []unit.Force{600}},
		)},
		{Title: text("page.plan.kinetic.more-of-the"), More: true, Fields: d.set(
			entry{Name: "at", Label: text("page.plan.kinetic.at"), Hint: text("page.plan.kinetic.at.hint"), Like: []unit.Force{20e3}},
			entry{Name: "loss", Label: text("page.plan.kinetic.loss"), Hint: text("page.plan.kinetic.loss.hint")},
			entry{Name: "wet", Label: text("page.plan.kinetic.wet"), Choices: []option{{Label: text("page.plan.kinetic.no")}, {Value: "yes", Label: text("page.plan.kinetic.yes")}}},
			entry{Name: "moving", Label: text("page.plan.kinetic.moving"), Hint: text("page.plan.kinetic.moving.hint")},
			entry{Name: "attempts", Label: text("page.plan.kinetic.attempts"), Hint: text("page.plan.kinetic.attempts.hint")},
			entry{Name: "stiffening", Label: text("page.plan.kinetic.stiffening"), Hint: text("page.plan.kinetic.stiffening.hint")},
			entry{Name: "keep-out", Label: text("page.plan.kinetic.keep-out"), Hint: text("page.plan.kinetic.keep-out.hint")},
			entry{Name: "reference", Label: text("page.plan.kinetic.reference"), Hint: text("page.plan.kinetic.reference.hint")},
		)},
		{Title: text("page.plan.kinetic.multipliers"), Fields: d.set(entry{Name: "with", Label: text("page.plan.kinetic.with"), Choices: d.setOptions(), Long: true})},
	}
}

// readKinetic reads the form. It is whole only where the sheet is good.
func readKinetic(d *desk) plan.Kinetic {
	k := plan.Kinetic{Rig: d.rig(d.sheet, false), Ground: d.text("ground"), Strap: d.typed("strap"), Unit: d.unit, On: d.today}
	d.vehicle(d.sheet, "pulling", "puller-mass")
	d.vehicle(d.sheet, "stuck", "stuck-mass")
	p := &k.Plan
	p.Puller = needed(d.sheet, "puller-mass", "mass", "2.95 t", unit.ParseMass, above)
	p.Stuck = needed(d.sheet, "stuck-mass", "mass", "3.2 t", unit.ParseMass, above)
	p.Speed = needed(d.sheet, "speed", "speed", "8 km/h", unit.ParseSpeed, notBelow)
	p.Strap = readStrap(d.sheet)
	readRunUp(d.sheet, p)
	given := false
	p.Resistance, given = quantity(d.sheet, "resistance", "force", unit.ParseForce, notBelow)
	p.Fixed = !given
	p.Moving, _ = quantity(d.sheet, "moving", "force", unit.ParseForce, notBelow)
	p.Attempts = d.count("attempts", 1, kinetic.MaxAttempts, 1)
	p.Stiffening, _ = quantity(d.sheet, "stiffening", "share", unit.ParseShare, notBelow)
	p.KeepOut, _ = quantity(d.sheet, "keep-out", "factor", plain, above)
	k.Reference, _ = quantity(d.sheet, "reference", "mass", unit.ParseMass, above)
	k.With = d.chosenSet()
	return k
}

func readStrap(f *sheet) (s kinetic.Strap) {
	s.Length, _ = quantity(f, "length", "length", unit.ParseLength, above)
	s.MBS, _ = quantity(f, "mbs", "force", unit.ParseForce, above)
	s.Elongation, _ = quantity(f, "elongation", "share", unit.ParseShare, above)
	if f.typed("elongation") == "" || f.typed("stiffness") != "" {
		s.Stiffness, _ = quantity(f, "stiffness", "stiffness", unit.ParseStiffness, above)
	}
	s.At, _ = quantity(f, "at", "force", unit.ParseForce, above)
	s.Loss, _ = quantity(f, "loss", "share", unit.ParseShare, notBelow)
	s.Wet = f.text("wet") == "yes"
	if s.Stiffness == 0 && s.Elongation == 0 {
		f.refuse("elongation", text("field.stretch"))
	}
	return s
}

func readRunUp(f *sheet, p *kinetic.Plan) {
	p.Slack, _ = quantity(f, "slack", "length", unit.ParseLength, notBelow)
	p.Drive, _ = quantity(f, "drive", "force", unit.ParseForce, notBelow)
	p.Slope, _ = quantity(f, "slope", "slope", unit.ParseGrade, any0)
	p.Rolling, _ = quantity(f, "rolling", "force", unit.ParseForce, notBelow)
	if g, given := quantity(f, "grip", "coefficient", plain, above); given {
		p.Grip = &kinetic.Grip{Coefficient: g}
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
	case errors.Is(err, kinetic.ErrPull), errors.Is(err, kinetic.ErrSteps), errors.Is(err, plan.ErrMissing):
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
