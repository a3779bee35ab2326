package shock

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"tautlog/analysis/pull"
)

// ErrTable is what every error of Decode that is about the table unwraps to.
var ErrTable = errors.New("the table of pulls cannot be used")

// TableError is the one fault for which a table of pulls is refused. Its text
// is meant for people.
type TableError struct {
	Line    int // counted from 1
	Problem string
	Remedy  string
}

// Error gives line, problem and remedy in one line.
func (e *TableError) Error() string {
	return fmt.Sprintf("line %d: %s; %s", e.Line, e.Problem, e.Remedy)
}

// Unwrap gives ErrTable.
func (e *TableError) Unwrap() error { return ErrTable }

// required are the columns that a table must have.
var required = [...]string{"day", "kind", "ground", "strap", "peak_N", "reference_kg"}

// Decode reads logged pulls from CSV: a header with the columns day, kind,
// ground, strap, peak_N, reference_kg and, if known, peak_low_N, peak_high_N,
// reference_low_kg, reference_high_kg, speed_mps, puller_kg, strap_length_m,
// strap_mbs_N, flags, id, remark; in any
// order, other columns passed over. Comma, semicolon or tab between columns. A number that
// is not known is left empty. Flags are separated by semicolons, commas or
// bars. Lines before the header may be comments that begin with #.
//
// A pull with something missing that a fit needs is given all the same; Fit
// leaves it out and says so. What makes no sense ends the reading with a
// TableError.
func Decode(r io.Reader, decimalComma bool) ([]Pull, error) {
	text, err := io.ReadAll(bufio.NewReader(r))
	if err != nil {
		return nil, fmt.Errorf("cannot read the table of pulls: %w", err)
	}
	t := &reader{decimalComma: decimalComma}
	text, t.skipped = t.preamble(bytes.TrimPrefix(text, []byte("\ufeff")))
	if len(bytes.TrimSpace(text)) == 0 {
		return nil, &TableError{max(t.skipped, 1), "the file is empty", "give a table of pulls with a header"}
	}
	if bytes.IndexByte(text, 0) >= 0 {
		return nil, &TableError{1, "there are bytes that are no text", "save the table as CSV in UTF-8"}
	}
	t.csv = csv.NewReader(bytes.NewReader(text))
	t.csv.Comma, t.csv.FieldsPerRecord = separator(text), -1
	t.csv.TrimLeadingSpace = t.csv.Comma != '\t' // a tab is a space too
	if err := t.header(); err != nil {
		return nil, err
	}
	return t.pulls()
}

// reader reads one table.
type reader struct {
	csv          *csv.Reader
	decimalComma bool
	skipped      int // lines before the header
	columns      map[string]int
	width        int
	line         int // of the row at hand
	row          []string
}

// preamble takes comments and blank lines off.
func (t *reader) preamble(text []byte) (rest []byte, lines int) {
	for len(text) > 0 {
		line, after, _ := bytes.Cut(text, []byte("\n"))
		if l := bytes.TrimSpace(line); len(l) > 0 && l[0] != '#' {
			break
		}
		text, lines = after, lines+1
	}
	return text, lines
}

func separator(text []byte) rune {
	header, _, _ := bytes.Cut(text, []byte("\n"))
	best, most := ',', bytes.Count(header, []byte(","))
	for _, c := range ";\t" {
		if n := bytes.Count(header, []byte(string(c))); n > most {
			best, most = c, n
		}
	}
	return best
}

// next reads one row; io.EOF at the end.
func (t *reader) next() error {
	row, err := t.csv.Read()
	if wrong, ok := errors.AsType[*csv.ParseError](err); ok {
		return &TableError{t.skipped + wrong.StartLine, "a quoted value does not end, or a quote stands inside a value", "put quotes around whole values only"}
	}
	if err != nil {
		return err
	}
	line, _ := t.csv.FieldPos(0)
	t.row, t.line = row, t.skipped+line
	for i := range t.row {
		t.row[i] = strings.TrimSpace(t.row[i])
	}
	return nil
}

func (t *reader) header() error {
	if err := t.next(); err != nil {
		return err
	}
	t.columns, t.width = map[string]int{}, len(t.row)
	for i, name := range t.row {
		if _, twice := t.columns[name]; twice && name != "" {
			return t.fault("name each column once", "two columns are named %s", name)
		}
		t.columns[name] = i
	}
	for _, name := range required {
		if _, ok := t.columns[name]; !ok {
			return t.fault("the columns are "+strings.Join(required[:], ", ")+", and further ones if known", "there is no column %s", name)
		}
	}
	return nil
}

func (t *reader) fault(remedy, problem string, args ...any) error {
	return &TableError{t.line, fmt.Sprintf(problem, args...), remedy}
}

func (t *reader) pulls() (all []Pull, err error) {
	for {
		switch err := t.next(); {
		case errors.Is(err, io.EOF) && len(all) == 0:
			return nil, t.fault("give a table with pulls", "there are no pulls below the header")
		case errors.Is(err, io.EOF):
			return all, nil
		case err != nil:
			return nil, err
		case len(t.row) != t.width:
			return nil, t.fault("give every line as many columns as the header; a value with the separator in it goes between quotes",
				"%d %s where the header has %d", len(t.row), plural(len(t.row), "column"), t.width)
		}
		p, err := t.pull()
		if err != nil {
			return nil, err
		}
		all = append(all, p)
	}
}

func (t *reader) text(name string) string {
	if i, ok := t.columns[name]; ok {
		return t.row[i]
	}
	return ""
}

func (t *reader) pull() (p Pull, err error) {
	p = Pull{
		ID: t.text("id"), Line: t.line, Day: t.text("day"), Remark: t.text("remark"),
		Class: Class{pull.Kind(t.text("kind")), t.text("ground"), t.text("strap")},
		Flags: flags(t.text("flags")),
	}
	for _, n := range []struct {
		name string
		to   *float64
	}{
		{"peak_N", (*float64)(&p.Peak)}, {"peak_low_N", (*float64)(&p.Low)}, {"peak_high_N", (*float64)(&p.High)},
		{"reference_kg", (*float64)(&p.Reference)}, {"reference_low_kg", (*float64)(&p.ReferenceLow)}, {"reference_high_kg", (*float64)(&p.ReferenceHigh)},
		{"puller_kg", (*float64)(&p.Puller)}, {"speed_mps", (*float64)(&p.Speed)},
		{"strap_length_m", (*float64)(&p.StrapLength)}, {"strap_mbs_N", (*float64)(&p.StrapMBS)},
	} {
		if *n.to, err = t.number(n.name); err != nil {
			return p, err
		}
	}
	if p.Peak > 0 && (p.Low > p.Peak || p.High > 0 && p.High < p.Peak) {
		return p, t.fault("peak_low_N to peak_high_N is where the true peak lies: correct it", "peak_N %s is not between peak_low_N %q and peak_high_N %q", t.text("peak_N"), t.text("peak_low_N"), t.text("peak_high_N"))
	}
	if p.Reference > 0 && !p.massInside() {
		return p, t.fault("reference_low_kg to reference_high_kg is where the true mass lies: give both, or neither", "reference_kg %s is not between reference_low_kg %q and reference_high_kg %q", t.text("reference_kg"), t.text("reference_low_kg"), t.text("reference_high_kg"))
	}
	return p, nil
}

func flags(text string) []string {
	split := strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(";,|", r) })
	for i := range split {
		split[i] = strings.TrimSpace(split[i])
	}
	return slices.DeleteFunc(split, func(s string) bool { return s == "" })
}

// number reads a number above zero; an empty value is 0, not known.
func (t *reader) number(name string) (float64, error) {
	text := t.text(name)
	if text == "" {
		return 0, nil
	}
	plain := text
	if t.decimalComma {
		plain = strings.Replace(text, ",", ".", 1)
	}
	v, err := strconv.ParseFloat(plain, 64)
	switch {
	case err != nil && !errors.Is(err, strconv.ErrRange), strings.ContainsAny(plain, "xXpP_"):
		remedy := "write a plain number, or nothing where it is not known"
		if strings.Contains(text, ",") && !t.decimalComma {
			remedy = "write a decimal point, or give --decimal-comma"
		}
		return 0, t.fault(remedy, "%s is %q, not a number", name, text)
	case math.IsNaN(v) || math.IsInf(v, 0):
		return 0, t.fault("correct the value, or leave it empty where it is not known", "%s is %q, not a finite number", name, text)
	case v < 0 || v == 0 && name != "speed_mps" && name != "peak_low_N":
		return 0, t.fault("give what was measured, or nothing where it is not known", "%s is %q: it must be above zero", name, text)
	}
	return v, nil
}
