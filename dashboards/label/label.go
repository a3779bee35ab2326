// Package label draws the code of a label that a phone reads: a QR code as SVG.
package label

import (
	"fmt"
	"html"
	"html/template"
	"strings"
	"unicode"

	"rsc.io/qr"

	"tautlog/calc/words"
)

// quiet is the empty margin around the code in modules, as ISO/IEC 18004 asks
// for: readers need it to find the code.
const quiet = 4

// QR draws text as a QR code, in black on white whatever the page looks like.
// It corrects up to a quarter of the code (level Q of ISO/IEC 18004): labels on
// gear get scratched. The size is that of whatever it stands in. It gives an
// error for a text that is too long for any code, and for one with letters
// beyond ASCII: readers guess the character set of those, and differ.
func QR(text string) (template.HTML, error) {
	if strings.ContainsFunc(text, func(r rune) bool { return r > unicode.MaxASCII }) {
		return "", fmt.Errorf("label: %q has letters that readers of codes take for others: write it in ASCII", text)
	}
	c, err := qr.Encode(text, qr.Q)
	if err != nil {
		return "", fmt.Errorf("label: %w", err)
	}
	var path strings.Builder
	for y := range c.Size {
		for x := 0; x < c.Size; x++ {
			from := x
			for c.Black(x, y) { // false outside
				x++
			}
			if x > from {
				fmt.Fprintf(&path, "M%d %dh%dv1h-%dz", from+quiet, y+quiet, x-from, x-from)
			}
		}
	}
	side := c.Size + 2*quiet
	svg := fmt.Sprintf(`<svg class="qr" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" width="%d" height="%d" shape-rendering="crispEdges" role="img" aria-label="%s"><rect width="%d" height="%d" fill="#fff"/><path fill="#000" d="%s"/></svg>`,
		side, side, 4*side, 4*side, html.EscapeString(words.Say("labels.code")), side, side, path.String())
	return template.HTML(svg), nil //nolint:gosec // numbers, and a text that is escaped
}
