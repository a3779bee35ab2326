package report_test

import (
	"bytes"
	"encoding/json"
	"html"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/calibrate"
	"tautlog/calc/rig"
	"tautlog/calc/words"
	"tautlog/dashboards/report"
)

// bracket puts what a text says itself in brackets, and leaves what is put into
// it outside of them.
func bracket(say string) string {
	say = strings.ReplaceAll(say, "%%", "\x00") // no verb
	var b strings.Builder
	at := 0
	for _, m := range append(verb.FindAllStringIndex(say, -1), []int{len(say), len(say)}) {
		if own := say[at:m[0]]; anyWord.MatchString(own) {
			b.WriteString("⟦" + own + "⟧")
		} else {
			b.WriteString(own)
		}
		b.WriteString(say[m[0]:m[1]])
		at = m[1]
	}
	return strings.ReplaceAll(b.String(), "\x00", "%%")
}

// bracketed is a translation of all texts in which each stands in brackets.
func bracketed(t *testing.T) *bytes.Buffer {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, words.Write(&b))
	var d struct {
		Language string         `json:"language"`
		Texts    map[string]any `json:"texts"`
	}
	require.NoError(t, json.Unmarshal(b.Bytes(), &d))
	for name, text := range d.Texts {
		switch text := text.(type) {
		case string:
			d.Texts[name] = bracket(text)
		case map[string]any:
			for form, say := range text {
				text[form] = bracket(say.(string))
			}
		}
	}
	d.Language = "en-XA" // the tag that CLDR has for a pseudo-translation
	b.Reset()
	require.NoError(t, json.NewEncoder(&b).Encode(d))
	return &b
}

var (
	verb     = regexp.MustCompile(`%(?:\[\d\])?[-+# 0]*[0-9.]*[a-zA-Z]`)
	markup   = regexp.MustCompile(`(?s)<style.*?</style>|<(?:[^>"]|"[^"]*")*>`)
	anyWord  = regexp.MustCompile(`\p{L}{2,}`)
	innerest = regexp.MustCompile(`⟦[^⟦⟧]*⟧`)
	// units, the name of the set that is built in, and what people wrote are the
	// same in every language
	untranslated = regexp.MustCompile(`\b(?:kN|ms|km|UTC|GVM|WLL|MBS|Heron|Otter|River|Keeper|Lower Fork workshop|LF|test|silt|Test day|rule of thumb|eye fuzzy on one side)\b`)
)

// names are the words of which the names in a rig are made: a drawing breaks
// them into lines.
func names(r rig.Rig) *regexp.Regexp {
	var all []string
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
	t.Cleanup(func() { require.NoError(t, words.Use(strings.NewReader(`{"language":"en","texts":{}}`))) })
	require.NoError(t, words.Use(bracketed(t)))
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
			left := html.UnescapeString(markup.ReplaceAllString(b.String(), "\n"))
			for innerest.MatchString(left) {
				left = innerest.ReplaceAllString(left, " ")
			}
			given := names(*s.Pulls[0].Rig)
			for line := range strings.Lines(left) {
				line = strings.TrimSpace(given.ReplaceAllString(untranslated.ReplaceAllString(line, ""), ""))
				assert.False(t, anyWord.MatchString(line), "%s, pulls %d: %q is said by code", file, pulls, line)
			}
		}
	}
}
