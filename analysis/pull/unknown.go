package pull

import (
	"strings"
	"tautlog/calc/words"
)

// notKnown is what the note of such a term begins with in a pull that a program
// measured which did not mark it otherwise.
const notKnown = "not known"

// Unknown names the terms that the interval of the peak leaves out, because
// nothing is known of them: the calibration of a trace that came without a
// certificate, for instance.
func (p Pull) Unknown() []string {
	var names []string
	for _, t := range p.Terms {
		if t.Unknown || strings.HasPrefix(t.Note, notKnown) {
			names = append(names, t.Name)
		}
	}
	return names
}

// TermName is what a term of that name is called, in the language in use.
func TermName(name string) string {
	if text := "term.name." + name; words.Known(text) {
		return words.Say(text)
	}
	return name
}
