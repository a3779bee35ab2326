package web

import "maps"

// Texts of the register's pages.
func init() {
	maps.Copy(english, map[string]string{
		"gear.title.trouble": "Gear to look at first",
		"gear.title.retired": "Retired gear",
		"gear.title.removed": "Gear that was removed",
		"gear.link.":         "All gear",
		"gear.link.trouble":  "To look at first",
		"gear.link.retired":  "Retired",
		"gear.link.removed":  "Removed",
		"gear.quarantined":   "In quarantine",
		"gear.retired":       "Retired",
		"gear.since":         " since %s",
		"gear.by":            " by %s",
		"gear.unfit":         "The inspection of %s found it unfit.",
		"gear.released":      "%s, back into use: %s",
		"gear.releasedby":    "%s, back into use by %s: %s",
		"limit.factorfrom":   " by the %s",
		"refused.gearkind":   "%q is no kind of gear. Choose one from the list.",
		"refused.nochange":   "There is no such change here to be undone. Load the page again and look at its journal.",
		"refused.store":      "Nothing was changed. %s Go back and look at what is there now.",
		"refused.removed":    "It was removed from the register meanwhile, so nothing was changed. Undo the removal in its journal first.",
		"refused.pictures":   "That is too much at once, so nothing was changed. Send at most %d pictures of %d MiB each.",
		"picture.hint":       "JPEG, PNG or WebP, each up to 8 MiB, four at most",

		"field.reason":  "Say why, so that the next person knows.",
		"field.already": "Somebody was faster. %s",
		"field.inuse":   "It is not out of service any more.",
		"field.date":    "%q is not a date. Write it as 2026-03-14, or 2026-03 or 2026 where no more is known.",
		"field.result":  "Choose what the inspection found.",
		"field.picture": "%q is no JPEG, PNG or WebP picture of at most %d MiB. Choose another one; what else was sent is kept.",

		"labels.title":       "Labels for gear",
		"field.address":      "%q is no address for a label. Write it as http://NAME:PORT, without anything behind it.",
		"refused.labels":     "That is too many labels for one page. Choose at most %d.",
		"vehicles.title":     "Vehicles",
		"form.newvehicle":    "Add a vehicle",
		"field.vehicletaken": "There is a vehicle %q in the register already. Write another name, or edit that one.",
		"form.newitem":       "Add an item",
		"form.edit":          "Edit %s",
		"form.empty":         "nothing",
		"form.rating":        "Rating %d",
		"form.bolts":         "Bolts, group %d",
		"field.gearkind":     "Choose what it is.",
		"field.norating":     "Write the force as well, or empty the whole rating.",
		"field.basis":        "Choose what the number means. A number that does not say is “stamped, basis unknown”.",
		"field.taken":        "There is an item %q in the register already. Write another one, or edit that one.",

		"journal.removed": "removed from the register",
		"journal.made":    "put into the register",
		"journal.from":    "%s was %s, now %s",
		"journal.added":   "%s added",
		"journal.taken":   "%s taken away",
		"journal.changed": "%s changed",

		"life.unknown": "load not known",
		"life.ofwll":   "%s of its WLL",
		"life.ofmbs":   "%s of its breaking strength",
		"life.pulls":   "%d",
		"life.above":   "%s, at the upper end of the interval %d",

		"rule.none":    "none is recorded",
		"rule.nolimit": "recorded, without a limit",
		"rule.age":     "at %g years",
		"rule.pulls":   "after %d pulls",
		"rule.peak":    "after one pull above %s of its breaking strength",
		"rule.by":      "by %s",

		"mounting.noestimate": "Too little is recorded to estimate what its bolts and plate may hold.",
		"mounting.estimate":   "With the line straight off the vehicle its bolts and plate are estimated to be used up at %s, by %s. That can speak against the mounting, never for it.",
		"mounting.proved":     "%s held without a set",
		"mounting.bent":       "at %s",
	})
}
