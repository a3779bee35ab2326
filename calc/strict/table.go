package strict

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"strings"

	"tautlog/calc/words"
)

// ErrTable says that a text is no table: no header, ragged or broken lines.
var ErrTable = errors.New("not a table")

// Row is one line of a table below its header, as many cells as the header
// has, blanks around them taken off.
type Row struct {
	Line  int // from 1, in the text
	Cells []string
}

// ReadTable reads a table as ReadRows does. Refused beside what that refuses: a
// column that is named twice or not at all, a line with more or fewer cells than
// the header, and a table without rows.
func ReadTable(r io.Reader) (header Row, rows []Row, err error) {
	if rows, err = ReadRows(r); err != nil {
		return Row{}, nil, err
	}
	header, rows = rows[0], rows[1:]
	if err := checkRows(header, rows); err != nil {
		return Row{}, nil, err
	}
	return header, rows, nil
}

// ReadRows reads the rows of a table that people or programs wrote as CSV, the
// header first: comma, semicolon or tab between columns, and lines before the
// header that are blank or begin with #. Refused, with the line in an Error:
// broken quotes, what is no text, and what has no line; but whether the rows
// agree with the header is left to the caller. The mark of Cell is taken off.
func ReadRows(r io.Reader) ([]Row, error) {
	text, err := io.ReadAll(io.LimitReader(r, MaxBytes+1))
	switch {
	case err != nil:
		return nil, words.Error("strict.table.read", err)
	case len(text) > MaxBytes:
		return nil, &Error{Problem: words.Say("strict.table.large", MaxBytes>>20), Reason: ErrTooLarge}
	case bytes.IndexByte(text, 0) >= 0:
		return nil, &Error{Problem: words.Say("strict.table.bytes"), Reason: ErrTable}
	}
	text, skipped := preamble(bytes.TrimPrefix(text, []byte("\ufeff")))
	if len(text) == 0 {
		return nil, &Error{Problem: words.Say("strict.table.empty"), Reason: ErrEmpty}
	}
	return readRows(text, skipped)
}

// preamble takes blank lines and comments off.
func preamble(text []byte) (rest []byte, lines int) {
	for len(text) > 0 {
		line, after, _ := bytes.Cut(text, []byte("\n"))
		if l := bytes.TrimSpace(line); len(l) > 0 && l[0] != '#' {
			break
		}
		text, lines = after, lines+1
	}
	return text, lines
}

func readRows(text []byte, skipped int) (rows []Row, err error) {
	c := csv.NewReader(bytes.NewReader(text))
	c.FieldsPerRecord, c.Comma = -1, separator(text)
	c.TrimLeadingSpace = c.Comma != '\t' // a tab is a space too
	for {
		cells, err := c.Read()
		if errors.Is(err, io.EOF) {
			return rows, nil
		}
		if wrong, ok := errors.AsType[*csv.ParseError](err); ok {
			return nil, tableFault(skipped+wrong.StartLine, "strict.table.quote")
		}
		if err != nil {
			return nil, err
		}
		line, _ := c.FieldPos(0)
		for i := range cells {
			cells[i] = unmarked(strings.TrimSpace(cells[i]))
		}
		rows = append(rows, Row{Line: skipped + line, Cells: cells})
	}
}

// separator is what the header has most of.
func separator(text []byte) rune {
	header, _, _ := bytes.Cut(text, []byte("\n"))
	best := ','
	for _, c := range ";\t" {
		if bytes.Count(header, []byte(string(c))) > bytes.Count(header, []byte(string(best))) {
			best = c
		}
	}
	return best
}

func checkRows(header Row, rows []Row) error {
	seen := make(map[string]bool, len(header.Cells)) // a header may have a million
	for i, name := range header.Cells {
		switch {
		case name == "":
			return tableFault(header.Line, "strict.table.noname", i+1)
		case seen[name]:
			return tableFault(header.Line, "strict.table.twice", name)
		}
		seen[name] = true
	}
	if len(rows) == 0 {
		return tableFault(header.Line, "strict.table.norows")
	}
	for _, r := range rows {
		if len(r.Cells) != len(header.Cells) {
			return tableFault(r.Line, "strict.table.ragged", len(r.Cells), len(header.Cells))
		}
	}
	return nil
}

// tableFault is a fault of a line, by the name of its text.
func tableFault(line int, name string, args ...any) error {
	return &Error{Line: line, Problem: words.Say(name, args...), Reason: ErrTable}
}

// formulaMark stands before a text that a spreadsheet would take for a formula.
const formulaMark = "'"

// Cell is a text that people wrote as it stands in a table that leaves the
// program. Spreadsheets calculate what begins with one of a few signs, and a
// formula may ask another server or start a program: such a text gets a mark
// before it, which ReadRows takes off again, so that every text is read back as
// it was. A number is no text, and needs none.
//
// Source: OWASP, CSV Injection, for the signs and the mark (from memory).
func Cell(text string) string {
	if isFormula(text) {
		return formulaMark + text
	}
	return text
}

func unmarked(cell string) string {
	if text, marked := strings.CutPrefix(cell, formulaMark); marked && isFormula(text) {
		return text
	}
	return cell
}

// isFormula says whether a spreadsheet may calculate a text, or would but for
// marks that are there already.
func isFormula(text string) bool {
	text = strings.TrimLeft(text, formulaMark+" \t\r\n")
	return strings.IndexAny(text, "=+-@＝＋－＠") == 0
}
