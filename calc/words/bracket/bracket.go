// Package bracket is for tests only: a language in which every text of the
// program stands in brackets, so that what stands outside of them was said by no
// text and can be translated by nobody.
package bracket

import (
	"bytes"
	"encoding/json"
	"html"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tautlog/calc/words"
)

// Language is the tag that CLDR has for a pseudo-translation of English.
const Language = "en-XA"

var (
	verb   = regexp.MustCompile(`%(?:\[\d\])?[-+# 0]*[0-9.]*[a-zA-Z]`)
	letter = regexp.MustCompile(`\p{L}`)
)

// Speak has the process speak in brackets until the test is over. Texts belong to
// the process: no other test may run beside this one.
func Speak(t testing.TB) {
	t.Helper()
	t.Cleanup(func() { require.NoError(t, words.Use(strings.NewReader(`{"language":"en","texts":{}}`))) })
	var own bytes.Buffer
	require.NoError(t, words.Write(&own))
	var doc struct {
		Language string         `json:"language"`
		Texts    map[string]any `json:"texts"`
	}
	require.NoError(t, json.Unmarshal(own.Bytes(), &doc))
	doc.Language = Language
	for name, say := range doc.Texts {
		if strings.HasPrefix(name, "guide.text.") { // blocks of Markdown, which have tests of their own
			continue
		}
		switch say := say.(type) {
		case string:
			doc.Texts[name] = around(say)
		case map[string]any:
			for form, s := range say {
				say[form] = around(s.(string))
			}
		}
	}
	b, err := json.Marshal(doc)
	require.NoError(t, err)
	require.NoError(t, words.Use(bytes.NewReader(b)))
}

// around puts what a text says itself in brackets, and leaves what is put into it
// outside of them.
func around(say string) string {
	say = strings.ReplaceAll(say, "%%", "\x00") // no verb
	var b strings.Builder
	at := 0
	for _, m := range append(verb.FindAllStringIndex(say, -1), []int{len(say), len(say)}) {
		if own := say[at:m[0]]; letter.MatchString(own) {
			b.WriteString("⟦" + own + "⟧")
		} else {
			b.WriteString(own)
		}
		b.WriteString(say[m[0]:m[1]])
		at = m[1]
	}
	return strings.ReplaceAll(b.String(), "\x00", "%%")
}

var (
	said = regexp.MustCompile(`⟦[^⟦⟧]*⟧`)
	// A name for a script is one word, and data-fills is put into fields and read again.
	attribute = regexp.MustCompile(`\s(aria-label|title|alt|placeholder|data-[a-z-]+)="([^"]* [^"]*)"`)
	unseen    = regexp.MustCompile(`(?s)<(script|style)\b.*?</(script|style)>`)
	tag       = regexp.MustCompile(`<(?:[^>"]|"[^"]*")*>`)
)

// Unsaid is what stands outside of brackets in a document of HTML, to be read and
// in attributes that are read out, line by line.
func Unsaid(document string) []string {
	document = unseen.ReplaceAllString(document, "")
	all := tag.ReplaceAllString(document, "\n")
	for _, m := range attribute.FindAllStringSubmatch(document, -1) {
		if m[1] != "data-fills" {
			all += "\n" + m[2]
		}
	}
	all = html.UnescapeString(all)
	for said.MatchString(all) {
		all = said.ReplaceAllString(all, " ")
	}
	return strings.Split(all, "\n")
}
