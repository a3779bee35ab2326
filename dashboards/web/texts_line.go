package web

// Texts of the live line and of what is asked after a pull.
func init() {
	addTexts(map[string]string{
		"limit.label":     "%s: %s",
		"limit.says":      "%s reaches its limit first, when %s reads %s. That is drawn on the trace.",
		"limit.over":      "Over the limit of %s: %s was crossed in this pull.",
		"limit.none":      "No limit of any item of this rig is known, so none is drawn.",
		"limit.notrated":  "Not rated for this use, whatever the force: %s.",
		"limit.notjudged": "No working limit is known of these, so that below the drawn limit they cannot be judged either: %s.",
		"limit.above":     "limit above this scale",

		"sound.button": "Sound",
		"sound.on":     "On: one long tone at a new peak, three short ones when a limit is crossed.",
		"sound.off":    "Off.",
		"sound.wait":   "On, once this page is touched: browsers ask for that after a page was loaded.",
		"sound.none":   "This browser gives no sound. The marks and words say the same.",

		"ask.speed":          "How fast was the puller when the line came taut?",
		"ask.slack":          "How much slack was in the line at the start?",
		"ask.ground":         "What ground did it stand on?",
		"ask.depth":          "How deep did it sit?",
		"ask.count":          "%d of %d",
		"ask.skip":           "Not known",
		"ask.undo":           "Take back: %s",
		"ask.other":          "Another value, and more",
		"ask.done":           "That is all. The multipliers can use this pull.",
		"ask.failed":         "That was not kept: the program did not answer. Press it again.",
		"ask.said.speed":     "speed %s",
		"ask.said.slack":     "slack %s",
		"ask.said.ground":    "on %s",
		"ask.said.depth":     "it sat %s",
		"ask.skipped.speed":  "speed was left open",
		"ask.skipped.slack":  "slack was left open",
		"ask.skipped.ground": "ground",
		"ask.skipped.depth":  "depth was left open",
		"ask.grounds":        "firm gravel, wet sand, silt",
	})
}
