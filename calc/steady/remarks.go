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
	note(mired, words.Say("steady.the-factor-for-mire-is"))
	note(mired && rolls, words.Say("steady.mire-and-rolling-are-added"))
	note(table && p.Surface.Conflict(), words.Say("steady.the-sources-for-disagree-the", p.surfaceName()))
	note(table && p.Surface.Coefficient().Wide(), words.Say("steady.the-middle-of-a-range"))
	note(!rolls, words.Say("steady.rolling-is-not-counted-because"))
	note(p.Side > 0, words.Say("steady.no-source-says-how-much"))
	note(p.Line.Sheaves < p.Line.Parts-1, words.Count("steady.sheaves", p.Line.Sheaves, p.Line.Parts, p.Line.Parts-1))
	note(p.Winch != nil && p.Winch.Layer == 1, words.Say("steady.the-winch-counts-with-one"))
	note(p.Winch != nil && p.Winch.Layer != 1, words.Say("steady.the-layers-are-those-of"))
	return append(out, words.Say("steady.this-is-a-calculation-of"))
}

func (p Plan) surfaceName() string {
	if p.Surface == nil {
		return ""
	}
	return p.Surface.Words()
}
