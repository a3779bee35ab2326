package steady

import "tautlog/calc/words"

// Status is how a value came into the program.
type Status string

// The ways.
const (
	Read       Status = "READ"        // seen in the named source
	FromMemory Status = "FROM MEMORY" // recalled; the source was not at hand
	Computed   Status = "COMPUTED"    // calculated by a stated rule
	Measured   Status = "MEASURED"    // by whoever plans, in pulls of their own
	Given      Status = "GIVEN"       // entered by whoever plans
)

// Words says it to people.
func (s Status) Words() string {
	switch s {
	case Read:
		return words.Say("steady.read")
	case FromMemory:
		return words.Say("steady.source.memory")
	case Computed:
		return words.Say("steady.computed")
	case Measured:
		return words.Say("steady.measured")
	case Given:
		return words.Say("steady.no-source")
	}
	panic("steady: unknown status " + string(s))
}

// Source is where a value comes from.
type Source struct {
	// Text names it.
	Text string
	// Status is how the value came from there.
	Status Status
}

func carvill() Source {
	return Source{words.Say("steady.source.carvill"), Read}
}

func marks() Source {
	return Source{words.Say("steady.source.marks"), Read}
}

func engineeringTable() Source {
	return Source{words.Say("steady.source.rolling"), Read}
}

func lectureTable() Source {
	return Source{words.Say("steady.source.lecture"), Read}
}

func snowCase() Source {
	return Source{words.Say("steady.source.recovery-case"), Read}
}

func earthMoving() Source {
	return Source{words.Say("steady.source.sinking"), Read}
}

func gradePercent() Source {
	return Source{words.Say("steady.source.grade"), Read}
}

func gradeDegrees() Source {
	return Source{words.Say("steady.source.commonwealth"), FromMemory}
}

func statics() Source {
	return Source{words.Say("steady.statics"), Computed}
}

func mireRule() Source {
	return Source{words.Say("steady.source.army"), FromMemory}
}

func tackleRule() Source {
	return Source{words.Say("steady.source.sheave"), Read}
}

func blockChart() Source {
	return Source{words.Say("steady.source.block"), Computed}
}

func layerTable() Source {
	return Source{words.Say("steady.source.layers"), Read}
}

func fullDrumRule() Source {
	return Source{words.Say("steady.source.half-full-drum"), Read}
}
