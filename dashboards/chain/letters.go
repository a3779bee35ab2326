package chain

import (
	"strings"
	"unicode"

	"tautlog/dashboards/bound"
)

// bold are the widths of the letters from space to tilde in hundredths of
// their height, from the file of DejaVu Sans Bold. Of the fonts that pages and
// reports are shown in it is the widest: what fits by it fits in the others.
var bold = [...]uint8{
	35, 46, 53, 84, 70, 101, 88, 31, 46, 46, 53, 84, 38, 42, 38, 37,
	70, 70, 70, 70, 70, 70, 70, 70, 70, 70, 40, 40, 84, 84, 84, 59,
	100, 78, 77, 74, 84, 69, 69, 83, 84, 38, 38, 78, 64, 100, 84, 86,
	74, 86, 78, 73, 69, 82, 78, 111, 78, 73, 73, 46, 37, 46, 84, 50,
	50, 68, 72, 60, 72, 68, 44, 72, 72, 35, 35, 67, 35, 105, 72, 69,
	72, 72, 50, 60, 48, 72, 66, 93, 65, 66, 59, 72, 37, 72, 84,
}

// letter is about the width of one, as a share of its height.
func letter(r rune) float64 {
	switch {
	case r >= ' ' && int(r-' ') < len(bold):
		return float64(bold[r-' ']) / 100
	case unicode.In(r, unicode.Mn, unicode.Me, unicode.Cf):
		return 0
	}
	return 1.05
}

// span is the width of a text of a size, at most.
func span(s string, size float64) (w float64) {
	for _, r := range s {
		w += letter(r) * size
	}
	return w
}

// wrap breaks s into rows that are at most so wide. A word that is wider is
// broken too: nothing of a text is left out.
func wrap(s string, width, size float64) (rows []string) {
	row := ""
	for _, word := range wordsOf(s) {
		if row != "" && span(row+" "+word, size) <= width {
			row += " " + word
			continue
		}
		if row != "" {
			rows = append(rows, row)
		}
		pieces := split(word, width, size)
		rows = append(rows, pieces[:len(pieces)-1]...)
		row = pieces[len(pieces)-1]
	}
	return append(rows, row)
}

// wordsOf are the words of a text, with a number and its unit as one.
func wordsOf(s string) (out []string) {
	for w := range strings.FieldsFuncSeq(bound.Text(s), func(r rune) bool { return unicode.IsSpace(r) && string(r) != bound.Space }) {
		out = append(out, strings.ReplaceAll(w, bound.Space, " "))
	}
	return out
}

// split cuts a word into pieces that are at most so wide, or of one letter.
func split(word string, width, size float64) (pieces []string) {
	from, long := 0, 0.0
	for at, r := range word {
		w := letter(r) * size
		if at > from && long+w > width {
			pieces = append(pieces, word[from:at])
			from, long = at, 0
		}
		long += w
	}
	return append(pieces, word[from:])
}

// widest is the width of the widest of some texts.
func widest(texts []string, size float64) (w float64) {
	for _, s := range texts {
		w = max(w, span(s, size))
	}
	return w
}
