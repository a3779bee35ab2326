package rig

import (
	"errors"
	"fmt"
	"strconv"

	"tautlog/calc/gear"
	"tautlog/calc/unit"
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
	switch n := len(e.Problems) - 1; n {
	case 0:
		return ""
	case 1:
		return " (and 1 more problem)"
	default:
		return fmt.Sprintf(" (and %d more problems)", n)
	}
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
		v.note("winch_at", "%q is no end of a rig: write pulling or stuck", r.WinchAt)
	}
	if len(r.Chain) == 0 {
		v.note("chain", "the chain is empty: list the items from the pulling end to the stuck end")
	}
	for i, l := range r.Chain {
		v.link("chain#"+strconv.Itoa(i+1), l, i == 0 || i == len(r.Chain)-1)
	}
	switch {
	case len(v.cells) == 0 && len(r.Chain) > 0 && measured:
		v.note("chain", "there is no load cell in the chain: add an item of kind \"load cell\" where the cell sits")
	case len(v.cells) > maxCells:
		v.note("chain", "there are %d load cells in the chain: keep the one or two that the readings come from", len(v.cells))
	case len(v.cells) == maxCells && v.cells[0] == v.cells[1]:
		v.note("chain", "both load cells in the chain are called %q: name them as they are, to tell their readings apart", v.cells[0])
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

func (v *validator) note(path, format string, args ...any) {
	v.problems = append(v.problems, gear.Problem{Path: path, Text: fmt.Sprintf(format, args...)})
}

func (v *validator) add(path string, ps []gear.Problem) {
	for _, p := range ps {
		v.note(path+"."+p.Path, "%s", p.Text)
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
		v.note(path, "a link is exactly one of item, bridle, redirect or tackle; this one is %d of them", kinds)
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
		v.note(path+".item.kind", "a damper lies on the line and carries nothing: leave it out of the chain")
	}
}

func (v *validator) seat(path string, u Use) {
	switch {
	case u.Seat != SeatUnknown && u.Item.Kind != gear.BowShackle:
		v.note(path, "only a bow shackle is free or bound in its slot: leave seat out for a %s", u.Item.Kind)
	case u.Seat == FreeSeat && u.OffAxis != nil:
		v.note(path, "a shackle that is free in its slot turns into the line: leave off_axis out, or write bound")
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
		v.note(path, "give either a horizontal angle or full_turn")
	}
	v.angle(path+".horizontal", o.Horizontal, -180, 180)
	v.angle(path+".vertical", o.Vertical, -90, 90)
}

func (v *validator) angle(path string, a *unit.Angle, from, to float64) {
	if a != nil && !(a.Degrees() >= from-1e-9 && a.Degrees() <= to+1e-9) {
		v.note(path, "%v is not possible here: an angle between %g and %g°", *a, from, to)
	}
}

func (v *validator) bridle(path string, b Bridle, outer bool) {
	if !outer {
		v.note(path, "a bridle is the first or the last link of the chain: it ends at two points of a vehicle")
	}
	if !(b.Included >= 0 && b.Included.Degrees() < 180-1e-9) {
		v.note(path+".included_angle", "%v between the legs of a bridle is not possible: an angle from 0 to less than 180°", b.Included)
	}
	v.offAxis(path+".off_axis", b.OffAxis)
	if b.Strap == nil && (len(b.Left) == 0 || len(b.Right) == 0) {
		v.note(path, "a bridle has a strap, or items in both legs")
	}
	if b.Strap != nil {
		v.use(path+".strap", *b.Strap)
		if b.Strap.Item.Kind == gear.LoadCell {
			v.note(path+".strap.item.kind", "a load cell is not the strap of a bridle: put it in line or into one leg")
		}
	}
	v.uses(path+".left", b.Left)
	v.uses(path+".right", b.Right)
}

func (v *validator) redirect(path string, d Redirect) {
	v.angle(path+".included_angle", &d.Included, 0, 180)
	v.loss(path, d.Loss)
	if len(d.Block) == 0 {
		v.note(path+".block", "a redirect has a block or ring: list it and what anchors it")
	}
	v.uses(path+".block", d.Block)
}

// maxParts is more than any recovery tackle has.
const maxParts = 16

func (v *validator) tackle(path string, t Tackle) {
	if t.Parts < 2 || t.Parts > maxParts {
		v.note(path+".parts", "%d line parts: a tackle has 2 to %d", t.Parts, maxParts)
	} else if len(t.Sheaves) != t.Parts-1 {
		v.note(path+".sheaves", "%d line parts run over %d sheaves; %d are listed", t.Parts, t.Parts-1, len(t.Sheaves))
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
		v.note(path+".sheave_loss", "%g is not a part of the line pull: write 0.1 for 10 %%", *loss)
	}
}
