package report_test

import (
	"bytes"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/calibrate"
	"tautlog/calc/rig"
	"tautlog/calc/words/bracket"
	"tautlog/dashboards/report"
)

var (
	anyWord = regexp.MustCompile(`\p{L}{2,}`)
	// units, the name of the set that is built in, and what people wrote are the
	// same in every language
	untranslated = regexp.MustCompile(`\b(?:kN|ms|km|UTC|GVM|WLL|MBS|Heron|Otter|River|Keeper|Lower Fork workshop|LF|test|silt|Test day|eye fuzzy on one side)\b`)
)

// names are the words of which the names in a rig are made: a drawing breaks
// them into lines.
func names(r rig.Rig) *regexp.Regexp {
	var all []string
	for word := range strings.FieldsSeq(r.Name) {
		all = append(all, regexp.QuoteMeta(word))
	}
	for _, u := range r.Uses() {
		for _, word := range strings.Fields(u.Item.Name) {
			all = append(all, regexp.QuoteMeta(word))
		}
	}
	return regexp.MustCompile(`\b(?:` + strings.Join(all, "|") + `)\b`)
}

// TestEveryTextOfAReportIsTranslated: whatever stands in a report outside of the
// brackets is said by code and not by a text.
func TestEveryTextOfAReportIsTranslated(t *testing.T) {
	bracket.Speak(t)
	for _, file := range []string{"kinetic-bridle.json", "winch-redirect.json", "mountings.json", "two-cells.json"} {
		for _, pulls := range []int{1, 3} {
			s := source(t, file)
			s.Title, s.MadeUp = "Test day", true
			s.Pulls[0].Found.Terms = nil // their names and notes are told by package pull
			half := s.Pulls[0].Found.Peak / 100
			k := calibrate.Kept{
				Number: 2, From: "2026-05-02T00:00:00Z", Curve: calibrate.Curve{Coefficients: []float64{0, 4}},
				Certificate: &calibrate.Certificate{Number: "LF-7", By: "Lower Fork workshop", Expires: "2026-05-16", Relative95: 0.001, Absolute95: 40},
			}
			h, err := calibrate.NewHistory(calibrate.Curve{Coefficients: []float64{0, 1}}, []calibrate.Kept{k}, nil)
			require.NoError(t, err)
			s.Pulls[0].Cell.InForce = h.At(s.Pulls[0].Found.PeakAt)
			s.Pulls[0].Cell.Checks = []calibrate.Check{{At: s.Pulls[0].Found.Start - 3600e9, Force: 170, Half95: &half, Who: "A. Keeper"}}
			for i := 1; i < pulls; i++ {
				p := s.Pulls[0]
				p.Number, p.At = p.Number+int64(i), p.At.Add(time.Duration(i)*time.Hour)
				s.Pulls = append(s.Pulls, p)
			}
			var b bytes.Buffer
			require.NoError(t, report.Build(s).WriteHTML(&b))
			given := names(*s.Pulls[0].Rig)
			for _, line := range bracket.Unsaid(b.String()) {
				line = strings.TrimSpace(given.ReplaceAllString(untranslated.ReplaceAllString(line, ""), ""))
				assert.False(t, anyWord.MatchString(line), "%s, pulls %d: %q is said by code", file, pulls, line)
			}
		}
	}
}
