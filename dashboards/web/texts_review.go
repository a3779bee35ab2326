package web

import "maps"

// Texts of looking back: the trace of a pull and of a day, pulls over each
// other, what measuring again changed.
func init() {
	maps.Copy(english, map[string]string{
		"zoom.single":    "%d readings, each one drawn.",
		"zoom.banded":    "%d readings; the band reaches from the least to the largest of each stretch. Zoom in to see single readings.",
		"zoom.failed":    "The trace could not be fetched. The program may have stopped; start it again and load this page.",
		"zoom.label":     "Force on the line during this pull",
		"zoom.role":      "trace",
		"zoom.help":      "Drag across the trace to zoom. Gaps in the readings stay open.",
		"zoom.keys":      "Arrow keys go from reading to reading, plus and minus zoom around the one that is pointed at, Home shows all of it.",
		"zoom.wholepull": "Whole pull",
		"zoom.wholeday":  "Whole day",
		"zoom.rise":      "The rise",
		"zoom.in":        "Closer",
		"zoom.out":       "Wider",
		"zoom.earlier":   "Earlier",
		"zoom.later":     "Later",
		"zoom.filter":    "%s filter",
		"mark.start":     "line takes load",
		"mark.peak":      "largest reading",
		"mark.end":       "slack",
		"mark.true":      "true peak %s to %s",
		"mark.rise":      "rise from 10 %% to 90 %%: %s",

		"refused.filter":     "No filter was used on this pull: its readings are too far apart for one.",
		"refused.filterwide": "So many readings are not filtered at once. Zoom in to at most %s.",
		"refused.noreadings": "No cell has a reading of %s. Look at the day's sheet.",

		"again.stale":       "This pull was measured by %s. In force for its time is now %s. Measured again, what it was before stays in its journal.",
		"again.button":      "Measure it again",
		"again.setup":       "the curve that the cell was set up with",
		"again.zero":        "%s, with the zero of %s",
		"again.title":       "What measuring it again changed",
		"again.when":        "Measured again %s by %s.",
		"again.by":          "Measured by",
		"again.peak":        "Peak",
		"again.kind":        "Kind",
		"again.became":      "%s, now %s",
		"refused.unsettled": "This pull is not over yet, so it was not measured again. Wait until its result is settled.",
		"refused.again":     "The pull was not measured again: %s.",

		"overlay.title":   "Other pulls over pull %d",
		"overlay.link":    "Lay other pulls over it, and see by how much they differ",
		"overlay.back":    "The page of the pull",
		"overlay.pull":    "Pull %d: %s, %s, %s",
		"overlay.onset":   "where the line takes load",
		"overlay.peak":    "at the peak",
		"overlay.align":   "Aligned",
		"overlay.lay":     "Lay over",
		"overlay.choose":  "Choose the others",
		"overlay.which":   "Up to three, of the latest of the same kind",
		"overlay.none":    "There is no other pull of this kind yet.",
		"overlay.differs": "%s (95 %% interval %s to %s)",
		"overlay.nottold": "no difference that can be told: %s to %s",
		"overlay.how":     "What it has more than the first. An error of the calibration that two pulls of one cell have in common counts for the difference only.",
		"overlay.says":    "Courses are smoothed to what can be drawn; the numbers of the peaks are not. The marks are the peaks.",
		"figure.overlay":  "The courses of the chosen pulls, laid over each other",
		"refused.align":   "%q is no moment to align pulls at. Choose onset or peak.",
		"refused.toomany": "At most %d pulls are laid over another. Choose fewer.",

		"daytrace.title": "All readings, %s",
		"daytrace.what":  "What %s read, from its first reading of the day to its last, with the zero that was set taken off. Pulls are marked.",
		"daytrace.label": "Force at the cell on this day",
		"daytrace.link":  "All readings of the day as one trace",
		"daytrace.back":  "The sheet of the day",
	})
}
