package steady

import (
	"tautlog/calc/words"
)

// remarks lists what was assumed, what is missing and what is doubtful.
func (p Plan) remarks() []string {
	var out []string
	note := func(when bool, say string) {
		if when {
			out = append(out, say)
		}
	}
	table := p.Surface != nil && p.OwnRolling == nil
	mired := p.Mire.Factor() > 0 && p.OwnMire == nil
	rolls := table || p.OwnRolling != nil
	note(mired, words.Say("steady.note.mire"))
	note(mired && rolls, words.Say("steady.note.mire-and-rolling"))
	note(table && p.Surface.Conflict(), words.Say("steady.note.disagree", p.surfaceName()))
	note(table && p.Surface.Coefficient().Wide(), words.Say("steady.note.middle"))
	note(!rolls, words.Say("steady.note.no-rolling"))
	note(p.Side > 0, words.Say("steady.note.side-slope"))
	note(p.Line.Sheaves < p.Line.Parts-1, words.Count("steady.sheaves", p.Line.Sheaves, p.Line.Parts, p.Line.Parts-1))
	note(p.Winch != nil && p.Winch.Layer == 1, words.Say("steady.note.one-layer"))
	note(p.Winch != nil && p.Winch.Layer != 1, words.Say("steady.note.layers"))
	return append(out, words.Say("steady.note.slow-pull"))
}

func (p Plan) surfaceName() string {
	if p.Surface == nil {
		return ""
	}
	return p.Surface.Words()
}
