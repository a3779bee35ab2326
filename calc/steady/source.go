package steady

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
		return "read"
	case FromMemory:
		return "FROM MEMORY: recalled, not read in its source; a rule of thumb, no proof"
	case Computed:
		return "computed"
	case Measured:
		return "measured"
	case Given:
		return "no source"
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
	return Source{"Carvill, Mechanical Engineer's Data Handbook, as reprinted in a manual of mining software", Read}
}

func marks() Source {
	return Source{"Marks' Handbook (Moyer), as reprinted", Read}
}

func engineeringTable() Source {
	return Source{"engineering reference table of rolling resistance", Read}
}

func lectureTable() Source {
	return Source{"university lecture on the road loads of vehicles", Read}
}

func snowCase() Source {
	return Source{"a published recovery case", Read}
}

func earthMoving() Source {
	return Source{"civil-engineering reference, chapter on earth moving: R = (2 % + 1.5 % per inch) of the weight", Read}
}

func gradePercent() Source {
	return Source{"civil-engineering reference, chapter on earth moving: 1 % of the weight per 1 % of grade", Read}
}

func gradeDegrees() Source {
	return Source{"Commonwealth recovery practice: weight × degrees / 60, the whole weight above 45°", FromMemory}
}

func statics() Source {
	return Source{"statics: the part of the weight along the slope", Computed}
}

func mireRule() Source {
	return Source{"US Army FM 4-30.31 and FM 9-43-2, chapters on resistance", FromMemory}
}

func tackleRule() Source {
	return Source{"US Army course 63H34F01 Suppl. 1b, citing FM 9-43-2 (10/95); TB 9-2350-292-10 steps 4 and 5: 10 % of the load resistance per sheave", Read}
}

func blockChart() Source {
	return Source{"2 cos(θ/2), the equilibrium at a block; agrees with the chart in two rigging handbooks", Computed}
}

func layerTable() Source {
	return Source{"US Army TM 9-2320-338-10 WP 0084-38, self-recovery winch pull capacity by layer", Read}
}

func fullDrumRule() Source {
	return Source{"US Army course 63B34G01 slide 12 and a public off-road safety page after FM 21-305 ch. 22: as little as half of the rated pull with the drum full", Read}
}
