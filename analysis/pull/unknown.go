package pull

import "strings"

// Unknown names the terms that the interval of the peak leaves out, because
// nothing is known of them: the calibration of a trace that came without a
// certificate, for instance.
func (p Pull) Unknown() []string {
	var names []string
	for _, t := range p.Terms {
		if strings.HasPrefix(t.Note, notKnown) {
			names = append(names, t.Name)
		}
	}
	return names
}
