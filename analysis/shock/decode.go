package shock

import (
	"errors"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"tautlog/analysis/pull"
	"tautlog/calc/strict"
	"tautlog/calc/words"
)

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
// leaves it out and says so. What makes no sense is refused with a strict.Error.
func Decode(r io.Reader, decimalComma bool) ([]Pull, error) {
	rows, err := strict.ReadRows(r)
	if err != nil {
		return nil, err
	}
	t := &reader{decimalComma: decimalComma, row: rows[0]}
	if err := t.header(); err != nil {
		return nil, err
	}
	return t.pulls(rows[1:])
}

// reader reads one table.
type reader struct {
	decimalComma bool
	columns      map[string]int
	row          strict.Row // at hand
}

func (t *reader) header() error {
	t.columns = map[string]int{}
	for i, name := range t.row.Cells {
		if _, twice := t.columns[name]; twice && name != "" {
			return t.fault(words.Say("shock.table.twice.remedy"), words.Say("shock.table.twice", name))
		}
		t.columns[name] = i
	}
	for _, name := range required {
		if _, ok := t.columns[name]; !ok {
			return t.fault(words.Say("shock.columns.are", strings.Join(required[:], ", ")), words.Say("shock.table.nocolumn", name))
		}
	}
	return nil
}

func (t *reader) fault(remedy, problem string) error {
	return &strict.Error{Line: t.row.Line, Problem: words.Say("shock.fault", problem, remedy), Reason: strict.ErrTable}
}

func (t *reader) pulls(rows []strict.Row) (all []Pull, err error) {
	if len(rows) == 0 {
		return nil, t.fault(words.Say("shock.table.empty.remedy"), words.Say("shock.table.nopulls"))
	}
	width := len(t.row.Cells)
	for _, t.row = range rows {
		if n := len(t.row.Cells); n != width {
			return nil, t.fault(words.Say("shock.table.ragged.remedy"), words.Count("shock.columns", n, width))
		}
		p, err := t.pull()
		if err != nil {
			return nil, err
		}
		all = append(all, p)
	}
	return all, nil
}

func (t *reader) text(name string) string {
	if i, ok := t.columns[name]; ok {
		return t.row.Cells[i]
	}
	return ""
}

func (t *reader) pull() (p Pull, err error) {
	p = Pull{
		ID: t.text("id"), Line: t.row.Line, Day: t.text("day"), Remark: t.text("remark"),
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
		return p, t.fault(words.Say("shock.table.peak.remedy"), words.Say("shock.table.peak.outside", t.text("peak_N"), t.text("peak_low_N"), t.text("peak_high_N")))
	}
	if p.Reference > 0 && !p.massInside() {
		return p, t.fault(words.Say("shock.table.reference.remedy"), words.Say("shock.table.reference.outside", t.text("reference_kg"), t.text("reference_low_kg"), t.text("reference_high_kg")))
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
	case err != nil && strings.Contains(text, ",") && !t.decimalComma:
		problem := words.Say("shock.fault", words.Say("shock.table.value.number", name, text), words.Say("shock.table.comma.remedy"))
		return 0, &strict.Error{Line: t.row.Line, Problem: problem, Reason: errors.Join(strict.ErrTable, strict.ErrComma)}
	case err != nil && !errors.Is(err, strconv.ErrRange), strings.ContainsAny(plain, "xXpP_"):
		return 0, t.fault(words.Say("shock.table.number.remedy"), words.Say("shock.table.value.number", name, text))
	case math.IsNaN(v) || math.IsInf(v, 0):
		return 0, t.fault(words.Say("shock.table.value.correct"), words.Say("shock.table.value.infinite", name, text))
	case v < 0 || v == 0 && name != "speed_mps" && name != "peak_low_N":
		return 0, t.fault(words.Say("shock.table.value.measured"), words.Say("shock.table.value.zero", name, text))
	}
	return v, nil
}
