package plan

import (
	"tautlog/calc/rig"
	"tautlog/calc/steady"
)

// LineOf is how the line of a rig is laid, as a steady pull is calculated: the
// parts of the tackle next to the winch, the angles of redirects, as many
// sheaves as these have, and what a sheave takes where the rig records the same
// for all of them.
func LineOf(r rig.Rig) steady.Line {
	line := steady.Line{Parts: 1}
	var losses []*float64
	for _, l := range r.Chain {
		if d := l.Redirect; d != nil {
			line.Redirects = append(line.Redirects, d.Included)
			losses = append(losses, d.Loss)
		}
	}
	if t := hauledTackle(r); t != nil {
		line.Parts = t.Parts
		losses = append(losses, t.Loss)
	}
	line.Sheaves, line.Loss = steady.UsualSheaves(line.Parts, len(line.Redirects)), same(losses)
	return line
}

// hauledTackle is the tackle next to the winch; nil where there is none.
func hauledTackle(r rig.Rig) (t *rig.Tackle) {
	for _, l := range r.Chain {
		if l.Tackle != nil && (t == nil || r.WinchAt == rig.StuckEnd) {
			t = l.Tackle
		}
	}
	return t
}

// same is the value that all have; nil where one is not known or differs.
func same(values []*float64) (one *float64) {
	for _, v := range values {
		if v == nil || one != nil && *v != *one {
			return nil
		}
		one = v
	}
	return one
}
