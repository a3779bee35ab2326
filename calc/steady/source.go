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
		return words.Say("steady.from-memory-recalled-not-read")
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
	return Source{words.Say("steady.carvill-mechanical-engineers-data-handbook"), Read}
}

func marks() Source {
	return Source{words.Say("steady.marks-handbook-moyer-as-reprinted"), Read}
}

func engineeringTable() Source {
	return Source{words.Say("steady.engineering-reference-table-of-rolling"), Read}
}

func lectureTable() Source {
	return Source{words.Say("steady.university-lecture-on-the-road"), Read}
}

func snowCase() Source {
	return Source{words.Say("steady.a-published-recovery-case"), Read}
}

func earthMoving() Source {
	return Source{words.Say("steady.civil-engineering-reference-chapter-on"), Read}
}

func gradePercent() Source {
	return Source{words.Say("steady.civil-engineering-reference-chapter-on-2"), Read}
}

func gradeDegrees() Source {
	return Source{words.Say("steady.commonwealth-recovery-practice-weight-degrees"), FromMemory}
}

func statics() Source {
	return Source{words.Say("steady.statics"), Computed}
}

func mireRule() Source {
	return Source{words.Say("steady.us-army-fm-4-30"), FromMemory}
}

func tackleRule() Source {
	return Source{words.Say("steady.us-army-course-63h34f01-suppl"), Read}
}

func blockChart() Source {
	return Source{words.Say("steady.2-cos-2-the-equilibrium"), Computed}
}

func layerTable() Source {
	return Source{words.Say("steady.us-army-tm-9-2320"), Read}
}

func fullDrumRule() Source {
	return Source{words.Say("steady.us-army-course-63b34g01-slide"), Read}
}
