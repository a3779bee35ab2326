package guide

import (
	"bytes"
	"encoding/json"
	"flag"
	"image/png"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/words"
)

// Every picture of the guide is there and says in words what it shows, every
// link within it leads to a heading, and the cautions come before the first pull.
func TestGuide(t *testing.T) {
	t.Parallel()
	html, err := Text("/guide/")
	require.NoError(t, err)
	text := string(html)
	pictures := regexp.MustCompile(`<img loading="lazy" src="/guide/([^"]+)" alt="([^"]*)"`).FindAllStringSubmatch(text, -1)
	assert.GreaterOrEqual(t, len(pictures), 6)
	assert.Equal(t, strings.Count(text, "<img"), len(pictures))
	for _, p := range pictures {
		_, err := png.DecodeConfig(bytes.NewReader(Picture(p[1])))
		assert.NoError(t, err, p[1])
		assert.Greater(t, len(p[2]), 30, "%s is not told in words", p[1])
	}
	for _, link := range regexp.MustCompile(`href="#([^"]+)"`).FindAllStringSubmatch(text, -1) {
		assert.Contains(t, text, `id="`+link[1]+`"`)
	}
	caution, pull := strings.Index(text, "A pull can kill"), strings.Index(text, "first pull</h2>")
	assert.True(t, 0 < caution && caution < pull, "the cautions come first")
	assert.NotRegexp(t, `(?i)\bsafe(ly|ty)?\b`, text)
	assert.Nil(t, Picture("guide.md"))
	assert.Nil(t, Picture("../guide.go"))
}

var update = flag.Bool("update", false, "write the texts of the guide anew from guide.md")

// TestTheTextsAreThoseOfTheGuide: what a translator is given is what guide.md
// says, block by block.
func TestTheTextsAreThoseOfTheGuide(t *testing.T) {
	source, err := files.ReadFile("guide.md")
	require.NoError(t, err)
	all, _ := blocks(string(source))
	texts := map[string]string{}
	for _, b := range all {
		require.NotContains(t, texts, b.name)
		texts[b.name] = strings.ReplaceAll(b.text, "%", "%%")
	}
	const file = "../../calc/words/english/guide.json"
	var want bytes.Buffer
	e := json.NewEncoder(&want)
	e.SetEscapeHTML(false)
	e.SetIndent("", "\t")
	require.NoError(t, e.Encode(texts))
	if *update {
		require.NoError(t, os.WriteFile(file, want.Bytes(), 0o644))
	}
	have, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, want.String(), string(have), "guide.md has changed: go test ./dashboards/guide -update")
}

// TestATranslatedGuideKeepsItsLinks: with other words in its headings, links
// within it lead to the same places.
func TestATranslatedGuideKeepsItsLinks(t *testing.T) {
	english, err := Text("/guide/")
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, words.Use(strings.NewReader(`{"language":"en","texts":{}}`))) })
	require.NoError(t, words.Use(strings.NewReader(`{"language":"de","texts":{"guide.text.start-it.00":"## Anfangen"}}`)))
	german, err := Text("/guide/")
	require.NoError(t, err)
	assert.Equal(t, strings.Replace(string(english), `<h2 id="start-it">Start it</h2>`, `<h2 id="start-it">Anfangen</h2>`, 1), string(german))
	require.NoError(t, words.Use(strings.NewReader(`{"language":"de","texts":{"guide.text.start-it.00":"Anfangen"}}`)))
	_, err = Text("/guide/")
	assert.ErrorContains(t, err, "headings")
}
