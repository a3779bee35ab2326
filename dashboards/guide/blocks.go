package guide

import (
	"fmt"
	"strings"

	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/parser"

	"tautlog/calc/words"
)

// block is a paragraph, heading, list, table or picture of the guide. Its
// English text stands in guide.md; in the texts for people it has a name, by
// which a translation takes its place.
type block struct{ name, text string }

// blocks parts the source, which has an empty line between two blocks. A block
// is named after the heading that it stands under, and counted from there; the
// first one is a heading. ids are those of the headings.
func blocks(source string) (all []block, ids []string) {
	unique := parser.NewContext().IDs()
	n := 0
	for text := range strings.SplitSeq(strings.TrimSpace(source), "\n\n") {
		if title := strings.TrimLeft(text, "#"); title != text {
			ids = append(ids, string(unique.Generate([]byte(strings.TrimSpace(title)), ast.KindHeading)))
			n = 0
		}
		all = append(all, block{"guide.text." + ids[len(ids)-1] + fmt.Sprintf(".%02d", n), text})
		n++
	}
	return all, ids
}

// told is the source in the language in use.
func told(all []block) string {
	said := make([]string, len(all))
	for i, b := range all {
		said[i] = words.Say(b.name)
	}
	return strings.Join(said, "\n\n")
}

// headings give the English IDs again, whatever the headings say, so that links
// within a translation lead where they do in English.
type headings struct{ ids []string }

// Generate is part of parser.IDs.
func (h *headings) Generate([]byte, ast.NodeKind) []byte {
	id := h.ids[0]
	h.ids = h.ids[1:]
	return []byte(id)
}

// Put is part of parser.IDs; nothing else has an ID.
func (h *headings) Put([]byte) {}
