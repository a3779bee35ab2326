package steady

import "fmt"

// remarks lists what was assumed, what is missing and what is doubtful.
func (p Plan) remarks() []string {
	var out []string
	note := func(when bool, format string, args ...any) {
		if when {
			out = append(out, fmt.Sprintf(format, args...))
		}
	}
	table := p.Surface != nil && p.OwnRolling == nil
	mired := p.Mire.Factor() > 0 && p.OwnMire == nil
	rolls := table || p.OwnRolling != nil
	note(mired, "The factor for mire is FROM MEMORY: recalled from the army recovery manuals, whose text was not at hand. It has no range, so the result is less sure than its range looks. Measure, and enter what was measured instead.")
	note(mired && rolls, "Mire and rolling are added. The army sheet takes the mire alone: without rolling, the result is lower by that term.")
	note(table && p.Surface.Conflict(), "The sources for %s disagree; the range spans them all.", p.surfaceName())
	note(table && p.Surface.Coefficient().Wide(), "The middle of a range is no printed value: plan with its high end.")
	note(!rolls, "Rolling is not counted, because no surface was named.")
	note(p.Side > 0, "No source says how much a side slope adds to the pull; nothing is added. What pulls the vehicle down the slope must be held by its tyres or by another line.")
	note(p.Line.Sheaves < p.Line.Parts-1, "%d line parts run over at least %d sheaves; %d were counted, so the line pull comes out too low.", p.Line.Parts, p.Line.Parts-1, p.Line.Sheaves)
	note(p.Winch != nil && p.Winch.Layer == 1, "The winch counts with one layer of line on the drum. Each further layer takes some of its pull; a full drum may leave only half.")
	note(p.Winch != nil && p.Winch.Layer != 1, "The layers are those of one army winch. What the maker of this winch says comes first.")
	return append(out, "This is a calculation of a slow pull. A jerk, suction that lets go, or a wheel against a rock pulls harder.")
}

func (p Plan) surfaceName() string {
	if p.Surface == nil {
		return ""
	}
	return p.Surface.Name
}
