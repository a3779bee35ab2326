package main

import (
	"runtime/debug"
	"strings"
	"time"

	"tautlog/calc/words"
)

// shortRevision is how many characters of a commit name it.
const shortRevision = 12

// version is that of the program, as far as its build says: of a release its
// number, else the commit. It is empty where neither is known.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return ""
	}
	return versionIn(info)
}

// versionIn tells the version from what the go command wrote into a program. It
// makes up a number from the commit where there is no release; the commit and
// its date say that in plainer words.
func versionIn(info *debug.BuildInfo) string {
	built := map[string]string{}
	for _, s := range info.Settings {
		built[s.Key] = s.Value
	}
	revision := built["vcs.revision"]
	if len(revision) < shortRevision {
		return strings.TrimSuffix(info.Main.Version, "(devel)") // a release that was fetched
	}
	revision = revision[:shortRevision]
	release, _, _ := strings.Cut(info.Main.Version, "+")
	if release == "(devel)" || strings.Contains(release, revision) {
		release = ""
	}
	say := release
	if release == "" {
		say = words.Say("report.version", revision)
		if at, err := time.Parse(time.RFC3339, built["vcs.time"]); err == nil {
			say = words.Say("report.version.dated", revision, words.Date(at))
		}
	}
	if built["vcs.modified"] == "true" {
		return words.Say("report.version.changed", say)
	}
	return say
}
