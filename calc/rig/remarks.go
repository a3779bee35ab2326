package rig

import (
	"tautlog/calc/gear"
	"tautlog/calc/words"
)

// maxBridle is the largest included angle of a bridle in published tables of
// slings and shackles: 120° (four makers' tables of shackles; AS 3775.2-2004).
const maxBridle = 120 + 1e-9

// Remarks lists what to know about the rig beside the shares: what was
// assumed, what is missing, what is outside published limits. The rig is one
// that Validate accepts.
func (r Rig) Remarks() []string {
	var out []string
	note := func(text string, args ...any) { out = append(out, words.Say(text, args...)) }
	unknownLoss := false
	for i, l := range r.Chain {
		if b := l.Bridle; b != nil && b.Included.Degrees() > maxBridle {
			note("rig.remark.wide", r.vehicle(r.End(i)).Name, degrees(b.Included))
		}
		unknownLoss = unknownLoss || l.Redirect != nil && l.Redirect.Loss == nil || l.Tackle != nil && l.Tackle.Loss == nil
	}
	if unknownLoss {
		note("rig.remark.loss")
	}
	for _, name := range r.bound() {
		note("rig.remark.bound", name)
	}
	for _, name := range r.unmounted() {
		note("rig.remark.unmounted", name)
	}
	note("rig.remark.static")
	return out
}

// unmounted names the points whose mounting is not listed beside them.
func (r Rig) unmounted() []string {
	var out []string
	check := func(us []Use) {
		for i, u := range us {
			if u.Item.Kind.Point() && !u.Item.Kind.NeverRecovery() && u.Item.Fixing == nil && !mounted(us, i) {
				out = append(out, u.Item.Name)
			}
		}
	}
	for _, us := range r.lists() {
		check(us)
	}
	return out
}

// bound names the shackles that cannot turn into the line.
func (r Rig) bound() []string {
	var out []string
	for _, us := range r.lists() {
		for _, u := range us {
			if u.Seat == BoundSeat {
				out = append(out, u.Item.Name)
			}
		}
	}
	return out
}

func mounted(us []Use, i int) bool {
	is := func(j int) bool { return j >= 0 && j < len(us) && us[j].Item.Kind == gear.Mounting }
	return is(i-1) || is(i+1)
}

// lists gives the rig's items as lists of neighbours.
func (r Rig) lists() [][]Use {
	var out [][]Use
	var line []Use
	for _, l := range r.Chain {
		if l.Use != nil {
			line = append(line, *l.Use)
			continue
		}
		out, line = append(out, line), nil
		switch {
		case l.Bridle != nil:
			out = append(out, l.Bridle.Left, l.Bridle.Right)
		case l.Redirect != nil:
			out = append(out, l.Redirect.Block)
		case l.Tackle != nil:
			out = append(append(out, l.Tackle.Fall, l.Tackle.Dead), l.Tackle.Sheaves...)
		}
	}
	return append(out, line)
}
