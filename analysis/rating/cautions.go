package rating

// Caution is a reminder that stands wherever a load is shown: short by
// default, whole where there is room or on demand.
type Caution struct {
	// ID names the caution in pages and files. It does not change.
	ID string `json:"id"`
	// Short is a few words.
	Short string `json:"short"`
	// Long is the whole reminder, in one to three sentences.
	Long string `json:"long"`
	// Source is where it comes from; "common practice, no source" where
	// nothing published was found.
	Source string `json:"source"`
}

// Cautions lists all cautions in the order in which they are shown. The
// words are our own; none is a quotation.
func Cautions() []Caution {
	return []Caution{
		{
			ID:    "distance",
			Short: "People away from the line and its ends: at least 1.5 times its length.",
			Long: "Everybody outside the vehicles stands to the side, at least 1.5 times the unstretched length of the line away, and never in the path of the pulling vehicle. " +
				"Some trainers ask for three to four times in a kinetic pull. Where local rules say more, they hold. In winching, nobody is nearer than the longest cable in use.",
			Source: "Australian recovery strap instructions (1.5 times); an off-road trainer's article (3 to 4 times); US Army TM 9-2320-356-BD para 4-6 (winching)",
		},
		{
			ID:     "attachment",
			Short:  "Never a tow ball, a tie-down or a tow eye: a rated recovery point.",
			Long:   "A tow ball, a factory tie-down or a tow eye is not a recovery point, whatever is stamped on it. They have sheared off and killed people. Attach to points that were made, rated and mounted for recovery.",
			Source: "mandatory warning of the Australian consumer safety standard for recovery straps (2017) and its explanatory statement; coroner's finding, Tasmania 2009",
		},
		{
			ID:     "damper",
			Short:  "A damper on the line.",
			Long:   "Lay a damper, a heavy bag or a blanket on the line. Where two are at hand, lay one near each likely point of failure.",
			Source: "Australian recovery strap instructions; an off-road trainer's article",
		},
		{
			ID:     "inspect",
			Short:  "Inspect before use.",
			Long:   "Look over every item before it is used and take out of service what is cut, frayed, worn, bent or faded by the sun. A wet strap is weaker and stretches less. Shackles get a full inspection at least once a year.",
			Source: "29 CFR 1926.251(a); Australian recovery strap instructions; ASME B30.26-2010 para 26-1.8",
		},
		{
			ID:     "trained",
			Short:  "Trained people only.",
			Long:   "Only trained people rig, signal and drive, and only the two drivers are in the vehicles.",
			Source: "NZ strap guide (drivers); common practice, no source (training)",
		},
		{
			ID:     "slack",
			Short:  "No jerk on gear that does not stretch.",
			Long:   "A tow strap, a chain, a wire or a winch line is no kinetic line: it hardly stretches, so a run-up comes as a jerk on every point. Take up the slack and apply power slowly.",
			Source: "NZ strap guide; US state off-road course; NAVEDTRA 14081 p. 5-11",
		},
		{
			ID:     "rules",
			Short:  "The maker's and local rules come first.",
			Long:   "What the maker of the gear or the vehicle says, local rules, and the judgement of trained people on the spot come before anything shown here.",
			Source: "common practice, no source",
		},
		{
			ID:    "tool",
			Short: "This tool measures and compares. It does not permit.",
			Long: "A verdict compares one measured load with the numbers entered for the gear. It knows nothing of wear, damage, mountings that were not entered, or the next pull, " +
				"and the next pull may be harder.",
			Source: "what the program can know",
		},
	}
}
