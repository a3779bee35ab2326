package web_test

import (
	"encoding/json"
	"net/http"
	"os"
	"os/exec"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/words/bracket"
	"tautlog/ingest/store"
)

// inAnother says to a test that it is its own process, and may speak another
// language than the tests beside it.
const inAnother = "TAUTLOG_TEST_TEXTS"

// alone runs the test that calls it in a process of its own and is true there.
func alone(t *testing.T) bool {
	t.Helper()
	if os.Getenv(inAnother) != "" {
		return true
	}
	c := exec.CommandContext(t.Context(), os.Args[0], "-test.run=^"+t.Name()+"$")
	c.Env = append(os.Environ(), inAnother+"=1")
	out, err := c.CombinedOutput()
	require.NoError(t, err, "%s", out)
	return false
}

var (
	noText = regexp.MustCompile(`"[a-z]+":|\S+\.(?:csv|json|parquet)|/[a-z]\S*`) // keys of a script, files, addresses
	aWord  = regexp.MustCompile(`[A-Za-z][a-z’]{2,}`)
)

// TestEverythingCanBeTranslated speaks a language in which every text stands in
// brackets, and walks through all pages: what stands outside of them is a name
// that somebody gave, or English for ever.
func TestEverythingCanBeTranslated(t *testing.T) {
	t.Parallel()
	if !alone(t) {
		return
	}
	bracket.Speak(t)
	f := newFixture(t)
	f.history(t)
	f.calibrated(t)
	names := f.namesGiven(t)
	left := map[string][]string{}
	for target, page := range f.everywhere(t, func(*http.Request) {}) {
		if strings.HasPrefix(target, "/guide") || strings.HasSuffix(target, "/text") || !strings.Contains(page, "<html") { // a rig as text is what the program reads
			continue
		}
		assert.Contains(t, page, `<html lang="`+bracket.Language+`"`, target)
		for _, line := range bracket.Unsaid(page) {
			line = noText.ReplaceAllString(line, " ")
			if slices.ContainsFunc(aWord.FindAllString(line, -1), func(w string) bool { return !names[w] }) {
				left[line] = append(left[line], target)
			}
		}
	}
	for line, where := range left {
		slices.Sort(where)
		assert.Fail(t, "no text says this", "%q on %s", line, strings.Join(slices.Compact(where)[:min(3, len(slices.Compact(where)))], " "))
	}
}

// given are the keys of documents under which stands what people wrote.
var given = regexp.MustCompile(`"(?:id|name|notes|ground|who|by|maker|serial|number|where|source|place|what|text|code|lot|say|label)":\s*"((?:[^"\\]|\\.)*)"`)

// namesGiven are all words of what people entered.
func (f *fixture) namesGiven(t *testing.T) map[string]bool {
	t.Helper()
	changes, err := f.store.Changes(t.Context(), store.JournalFilter{})
	require.NoError(t, err)
	cells, err := f.store.Cells(t.Context())
	require.NoError(t, err)
	plans, err := f.store.Plans(t.Context())
	require.NoError(t, err)
	b, err := json.Marshal([]any{changes, cells, plans})
	require.NoError(t, err)
	out := map[string]bool{}
	for _, m := range given.FindAllSubmatch(b, -1) {
		for _, w := range aWord.FindAllString(string(m[1]), -1) {
			out[w] = true
		}
	}
	said := append([]string{f.store.Dir(), "As asked for.", "kgf lbf",
		"straight only, any direction, full turn of the front wheels, side load steps, up to 30deg", // which the program reads
	}, found().Remarks...) // what the fixture says was said when its pull was measured
	for _, term := range found().Terms {
		said = append(said, term.Note)
	}
	for _, c := range changes {
		said = append(said, c.Who)
	}
	for _, s := range said {
		for _, w := range aWord.FindAllString(s, -1) {
			out[w] = true
		}
	}
	return out
}
