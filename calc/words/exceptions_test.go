package words

// untold are templates that still say something themselves.
var untold = map[string]bool{}

// speaking are the packages whose code speaks to people by texts alone.
var speaking = map[string]bool{
	"dashboards/plot":     true,
	"calc/steady":         true,
	"calc/kinetic":        true,
	"analysis/shock":      true,
	"analysis/plan":       true,
	"dashboards/people":   true,
	"ingest/archive":      true,
	"ingest/logfile":      true,
	"ingest/derive":       true,
	"analysis/trace":      true,
	"analysis/pull":       true,
	"calc/calibrate":      true,
	"dashboards/web":      true,
	"calc/gear":           true,
	"calc/strict":         true,
	"calc/unit":           true,
	"analysis/life":       true,
	"ingest/registerfile": true,
	"dashboards/gather":   true,
	"dashboards/logbook":  true,
	"dashboards/report":   true,
	"analysis/rating":     true,
	"calc/rig":            true,
	"dashboards/chain":    true,
	"ingest/listen":       true,
	"ingest/port":         true,
	"ingest/record":       true,
	"ingest/store":        true,
	"ingest/watch":        true,
	"ingest/wire":         true,
}

// typed are what people type and the program reads: they are the same in every
// language until their parsers are not.
var typed = map[string]bool{
	// what an archive says, and is asked
	"no space left on device": true, "field type conflict": true, "retention policy": true, "limit exceeded": true,
	` |> filter(fn: (r) => r.cell == %s and r.station == %s)`: true,
	"kN, t, kgf, lbf, N": true, "straight only": true, "up to 30deg": true, "up to ": true, "full turn of the front wheels": true, "any direction": true, "side load steps": true,
	"in order": true, "firm gravel": true, "wet sand": true,
	"ask an engineer": true, // always so in the document of a mounting
	// surfaces by name, and what stands in JSON for where a value is from
	"firm ground": true, "hard road": true, "worn asphalt or concrete": true, "worn asphalt": true, "worn concrete": true, "worn cobbles": true, "large worn cobbles": true,
	"packed gravel": true, "dry firm packed gravel": true, "rolled gravel": true, "rolled new gravel": true, "loose gravel": true, "loose worn gravel": true,
	"wet loose gravel": true, "medium hard soil": true, "medium soil": true, "solid sand": true, "loose sand": true, "FROM MEMORY": true,
	// on what a multiplier and a peak rest, in JSON, and the set that is always there
	"stuck vehicle's weight": true, "class bound": true, "assumed multiplier": true, "not decided": true, "rule of thumb": true, "weight of the reference mass": true,
	"speed fit": true, "fit by speed": true, "scaled model": true,
}

// logged are what is said within the program and not by it: headers of HTTP,
// names of parts of a drawing.
var logged = map[string]bool{
	// parts of a drawing
	`<svg role="img" aria-labelledby="title desc"`: true, "\n<title id=\"title\">": true, "</title>\n<desc id=\"desc\">": true,
	"private, max-age=31536000, immutable": true,
	`"title desc"`:                         true,
	// Reasons that code asks for with errors.Is; what people read of such an error says more.
	"empty document": true, "not JSON": true, "unknown key": true, "repeated key": true, "wrong type": true, "document too large": true, "not a table": true,
	"in the register twice": true, "no unit": true, "unknown unit": true, "not a number": true,
}

// valued are values of what programs read, and what an older program kept: the
// same in every language. People are told a text of each, such as flag.gap.
var valued = map[string]bool{
	"not known": true, "under way at start": true, "not ended": true, "gap at peak": true, "invalid readings": true, "spikes left out": true, "few readings": true, "standing tension": true, "zero not seen": true, "zero moved": true, "zero far off": true, "may be a rebound": true, "over capacity": true, "limits set by hand": true, "peak at a limit": true, "no calibration": true, "calibration expired": true, "beyond calibration": true,
}
