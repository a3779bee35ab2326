package web

import "fmt"

// text gives a sentence of the pages by its name, with its numbers put in.
// What stands in the templates is the text of one page; what is said from
// code, or on several pages, is here. An unknown name is a programmer's
// mistake and panics.
func text(name string, args ...any) string {
	s, ok := english[name]
	if !ok {
		panic("web: no text " + name)
	}
	if len(args) == 0 {
		return s
	}
	return fmt.Sprintf(s, args...)
}

var english = map[string]string{
	"first.title": "What are you doing today?",
	"plan.title":  "Plan a pull",
	"line.title":  "The line",
	"pulls.title": "Pulls",
	"pull.title":  "Pull %d",
	"gear.title":  "Gear",
	"rigs.title":  "Rigs",
	"cells.title": "Cells",

	"refused.title":    "Not done",
	"refused.nothere":  "There is nothing here under that address. Go back to the pulls, or to the first page.",
	"refused.host":     "These pages answer only under this machine's own name. Open them as http://localhost with the port that the program printed.",
	"refused.cross":    "This was sent from a page of another site, so nothing was changed. Open the page here and send it again.",
	"refused.token":    "This form is older than the running program, so nothing was changed. Load the page again and send it again.",
	"refused.form":     "The form could not be read, so nothing was changed. Load the page again and send it again.",
	"refused.big":      "The form is longer than 64 kB, so nothing was changed. Shorten the notes and send it again.",
	"refused.conflict": "Someone else changed this meanwhile, so nothing was changed now. Load the page again, look at what is there, and send it again.",
	"refused.failed":   "The store could not do this: %v. Nothing was changed. Look at the program's own output for more.",
	"refused.kind":     "%q is not a kind of pull. Choose kinetic, steady or proof.",
	"refused.number":   "%q is not a number for %s. Write digits only.",
	"refused.date":     "%q is not a date. Write it as 2026-03-14.",
	"refused.window":   "The stretch asked for is empty or longer than a year. Give from and to in nanoseconds UTC, from before to.",
	"refused.cell":     "There is no cell %q. The cells page lists those that there are.",
	"refused.nocell":   "No cell is known yet. Start the program with --cell NAME=PORT.",
	"refused.stream":   "Nothing is being recorded by this program, so there is nothing live to see.",
	"refused.undo":     "There is no change of this pull that could be undone.",

	"line.slack":    "The line is slack.",
	"line.taut":     "The line is taut.",
	"line.silent":   "No reading yet.",
	"line.peak":     "Largest so far in this pull: %s",
	"line.unknown":  "–",
	"cell.up":       "%s is connected and read %s.",
	"cell.upnone":   "%s is connected. No reading has come yet.",
	"cell.recorded": "%s is not being recorded by this program.",
	"cell.rate":     "%s readings a second",

	"kind.kinetic": "Kinetic pull",
	"kind.steady":  "Steady pull",
	"kind.proof":   "Proof pull",
	"kind.":        "Pull",
	"kind.changed": "The trace looks like a %s pull; a person has said that it was a %s one.",

	"peak.what":      "true peak",
	"peak.leftout":   "Left out of the interval, because not known: %s.",
	"rise.unseen":    "was not seen",
	"rise":           "%s in %s, on average %s per second; steepest %s per second",
	"shock":          "%s times the weight of %s (%s, %s)",
	"shock.nomass":   "not known: no mass is recorded for %s",
	"shock.norig":    "not known: the rig was not recorded",
	"mass.gvm":       "its gross vehicle mass %s",
	"mass.weighed":   "as weighed %s",
	"steady.level":   "%s",
	"steady.swing":   "%s up and down around it",
	"hold.decay":     "%s of the load while it was held",
	"rebound":        "%s, %s times a second",
	"rebound.once":   "once, %s times a second",
	"rebound.many":   "%d times",
	"impulse":        "%s to the peak, %s in all",
	"half":           "%s",
	"filter":         "largest reading %s; after the %s filter %s",
	"filter.none":    "largest reading %s; no filter, because the readings are too far apart for one",
	"zero":           "%s was taken off as the zero; the quiet line wandered by %s (one standard deviation)",
	"standing":       "The line already carried %s before the pull.",
	"rate":           "%d readings at %s a second",
	"term.little":    "too little to matter",
	"term.range":     "down %s, up %s",
	"norig":          "No rig was set when this pull happened, so nothing can be judged. Choose the rig in force on the line's page before the next one.",
	"notjudged":      "The rig could not be judged: %v.",
	"undo.kind":      "kind was %s",
	"undo.ground":    "ground was “%s”",
	"undo.notes":     "notes were different",
	"undo.none":      "none",
	"zoom.single":    "%d readings, each one drawn.",
	"zoom.banded":    "%d readings; the band reaches from the least to the largest of each stretch. Zoom in to see single readings.",
	"zoom.failed":    "The trace could not be fetched. The program may have stopped; start it again and load this page.",
	"mark.start":     "line takes load",
	"mark.peak":      "largest reading",
	"mark.end":       "slack",
	"basis.unknown":  "stamped, basis unknown,",
	"limit.upto":     "up to %s",
	"limit.none":     "no rating recorded",
	"limit.together": " for the pair together",
	"limit.alone":    " used alone",
	"limit.factor":   ", design factor %g",
	"tonne":          "On this page t after a force means tonne-force, the weight of one tonne: 9.81 kN.",
}
