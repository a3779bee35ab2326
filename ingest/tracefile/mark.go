package tracefile

import (
	"bytes"

	"tautlog/analysis/trace"
)

// A column called mark holds what the instrument said about a reading, in
// words with blanks between them: overload, invalid, lost. Other words mean
// nothing here.
const markColumn = "mark"

var markWords = [...]struct {
	word string
	mark trace.Mark
}{{"overload", trace.Overload}, {"invalid", trace.Invalid}, {"lost", trace.Lost}}

// ReadMark reads the words of a mark. Other words mean nothing.
func ReadMark(field []byte) (m trace.Mark) {
	for word := range bytes.FieldsSeq(field) {
		for _, w := range markWords {
			if string(word) == w.word {
				m |= w.mark
			}
		}
	}
	return m
}

// AppendMark appends the words of a mark, which ReadMark reads.
func AppendMark(b []byte, m trace.Mark) []byte {
	begin := len(b)
	for _, w := range markWords {
		if m&w.mark == 0 {
			continue
		}
		if len(b) > begin {
			b = append(b, ' ')
		}
		b = append(b, w.word...)
	}
	return b
}
