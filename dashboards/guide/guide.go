// Package guide is the user guide with its pictures: as a file to read beside
// the program, and for its pages, so that it is at hand without internet.
package guide

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"

	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/extension"
	"github.com/yuin/goldmark/parser"
)

//go:embed guide.md *.png
var files embed.FS

// Text is the guide as HTML in the language in use, with its pictures at the
// address pictures, such as "/guide/". What its source holds of HTML is left out.
func Text(pictures string) (template.HTML, error) {
	source, err := files.ReadFile("guide.md")
	if err != nil {
		return "", fmt.Errorf("guide: %w", err)
	}
	all, ids := blocks(string(source))
	text := []byte(told(all))
	if n := bytes.Count(append([]byte("\n"), text...), []byte("\n#")); n != len(ids) {
		return "", fmt.Errorf("guide: %d headings where the English text has %d", n, len(ids))
	}
	var b bytes.Buffer
	m := goldmark.New(goldmark.WithExtensions(extension.Table), goldmark.WithParserOptions(parser.WithAutoHeadingID()))
	if err := m.Convert(text, &b, parser.WithContext(parser.NewContext(parser.WithIDs(&headings{ids})))); err != nil {
		return "", fmt.Errorf("guide: %w", err)
	}
	return template.HTML(bytes.ReplaceAll(b.Bytes(), []byte(`<img src="`), []byte(`<img loading="lazy" src="`+pictures))), nil
}

// Picture is a picture of the guide, as PNG; nil where there is none of that
// name.
func Picture(name string) []byte {
	b, err := files.ReadFile(name)
	if err != nil || !bytes.HasPrefix(b, []byte("\x89PNG")) {
		return nil
	}
	return b
}
