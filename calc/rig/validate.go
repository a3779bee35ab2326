package rig

import (
	"errors"
	"strconv"

	"tautlog/calc/gear"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// ErrRig says that a rig cannot be judged as it is described.
var ErrRig = errors.New("rig cannot be judged")

// ValidationError lists what makes a rig impossible to judge.
type ValidationError struct {
	Problems []gear.Problem // paths such as "chain#3.bridle.included_angle"
}

// Error gives the first problem with its place, and how many more there are.
func (e *ValidationError) Error() string {
	p := e.Problems[0]
	if p.Path == "" {
		return p.Text + e.more()
	}
	return p.Path + ": " + p.Text + e.more()
}

func (e *ValidationError) more() string {
	n := len(e.Problems) - 1
	if n == 0 {
		return ""
	}
	return " " + words.Count("rig.wrong.more", n)
}

// Unwrap gives ErrRig, so that errors.Is works on it.
func (e *ValidationError) Unwrap() error { return ErrRig }

// Validate says what makes the rig impossible to judge, as a
// *ValidationError.
func (r Rig) Validate() error { return r.validate(true) }

// validate checks the rig, with or without the need of a cell.
func (r Rig) validate(measured bool) error {
	v := &validator{}
	v.add("pulling", r.Pulling.Check())
	v.add("stuck", r.Stuck.Check())
	if r.WinchAt != "" && r.WinchAt != PullingEnd && r.WinchAt != StuckEnd {
		v.note("winch_at", "rig.wrong.end", r.WinchAt)
	}
	if len(r.Chain) == 0 {
		v.note("chain", "rig.wrong.empty")
	}
	for i, l := range r.Chain {
		v.link("chain#"+strconv.Itoa(i+1), l, i == 0 || i == len(r.Chain)-1)
	}
	switch {
	case len(v.cells) == 0 && len(r.Chain) > 0 && measured:
		v.note("chain", "rig.wrong.celless")
	case len(v.cells) > maxCells:
		v.note("chain", "rig.wrong.cells", len(v.cells))
	case len(v.cells) == maxCells && v.cells[0] == v.cells[1]:
		v.note("chain", "rig.wrong.samecells", v.cells[0])
	}
	if len(v.problems) > 0 {
		return &ValidationError{v.problems}
	}
	return nil
}

// validator gathers problems.
type validator struct {
	problems []gear.Problem
	cells    []string // their names
}

func (v *validator) note(path, text string, args ...any) {
	v.problems = append(v.problems, gear.Problem{Path: path, Text: words.Say(text, args...)})
}

func (v *validator) add(path string, ps []gear.Problem) {
	for _, p := range ps {
		v.problems = append(v.problems, gear.Problem{Path: path + "." + p.Path, Text: p.Text})
	}
}

func (v *validator) link(path string, l Link, outer bool) {
	kinds := 0
	if l.Use != nil {
		kinds++
		v.use(path, *l.Use)
	}
	if l.Bridle != nil {
		kinds++
		v.bridle(path+".bridle", *l.Bridle, outer)
	}
	if l.Redirect != nil {
		kinds++
		v.redirect(path+".redirect", *l.Redirect)
	}
	if l.Tackle != nil {
		kinds++
		v.tackle(path+".tackle", *l.Tackle)
	}
	if kinds != 1 {
		v.note(path, "rig.wrong.link", kinds)
	}
}

func (v *validator) use(path string, u Use) {
	v.add(path+".item", u.Item.Check())
	v.offAxis(path+".off_axis", u.OffAxis)
	v.seat(path+".seat", u)
	switch u.Item.Kind {
	case gear.LoadCell:
		v.cells = append(v.cells, u.Item.Name)
	case gear.Damper:
		v.note(path+".item.kind", "rig.wrong.damper")
	}
}

func (v *validator) seat(path string, u Use) {
	switch {
	case u.Seat != SeatUnknown && u.Item.Kind != gear.BowShackle:
		v.note(path, "rig.wrong.seatof", u.Item.Kind)
	case u.Seat == FreeSeat && u.OffAxis != nil:
		v.note(path, "rig.wrong.free")
	}
}

func (v *validator) uses(path string, us []Use) {
	for i, u := range us {
		v.use(path+"#"+strconv.Itoa(i+1), u)
	}
}

func (v *validator) offAxis(path string, o *OffAxis) {
	if o == nil {
		return
	}
	if o.FullTurn && o.Horizontal != nil {
		v.note(path, "rig.wrong.eitherangle")
	}
	v.angle(path+".horizontal", o.Horizontal, -180, 180)
	v.angle(path+".vertical", o.Vertical, -90, 90)
}

func (v *validator) angle(path string, a *unit.Angle, from, to float64) {
	if a != nil && !(a.Degrees() >= from-1e-9 && a.Degrees() <= to+1e-9) {
		v.note(path, "rig.wrong.angle", *a, from, to)
	}
}

func (v *validator) bridle(path string, b Bridle, outer bool) {
	if !outer {
		v.note(path, "rig.wrong.inner")
	}
	if !(b.Included >= 0 && b.Included.Degrees() < 180-1e-9) {
		v.note(path+".included_angle", "rig.wrong.included", b.Included)
	}
	v.offAxis(path+".off_axis", b.OffAxis)
	if b.Strap == nil && (len(b.Left) == 0 || len(b.Right) == 0) {
		v.note(path, "rig.wrong.bridle")
	}
	if b.Strap != nil {
		v.use(path+".strap", *b.Strap)
		if b.Strap.Item.Kind == gear.LoadCell {
			v.note(path+".strap.item.kind", "rig.wrong.strapcell")
		}
	}
	v.uses(path+".left", b.Left)
	v.uses(path+".right", b.Right)
}

func (v *validator) redirect(path string, d Redirect) {
	v.angle(path+".included_angle", &d.Included, 0, 180)
	v.loss(path, d.Loss)
	if len(d.Block) == 0 {
		v.note(path+".block", "rig.wrong.redirect")
	}
	v.uses(path+".block", d.Block)
}

// maxParts is more than any recovery tackle has.
const maxParts = 16

func (v *validator) tackle(path string, t Tackle) {
	if t.Parts < 2 || t.Parts > maxParts {
		v.note(path+".parts", "rig.wrong.parts", t.Parts, maxParts)
	} else if len(t.Sheaves) != t.Parts-1 {
		v.note(path+".sheaves", "rig.wrong.sheaves", t.Parts, t.Parts-1, len(t.Sheaves))
	}
	v.loss(path, t.Loss)
	v.uses(path+".fall", t.Fall)
	for i, s := range t.Sheaves {
		v.uses(path+".sheaves#"+strconv.Itoa(i+1), s)
	}
	v.uses(path+".dead", t.Dead)
}

func (v *validator) loss(path string, loss *float64) {
	if loss != nil && !(*loss >= 0 && *loss < 1) {
		v.note(path+".sheave_loss", "rig.wrong.loss", *loss)
	}
}
