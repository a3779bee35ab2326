package kinetic

import (
	"errors"
	"io"
	"math"
	"strconv"
	"strings"

	"tautlog/calc/strict"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// ReadPoints reads a measured loading curve from a table (see
// strict.ReadTable) with one column of each kind, among others that are passed
// over:
//
//	stretch_m, stretch_mm …      the stretch, in a unit of length
//	elongation                   the stretch as a fraction of length
//	elongation_percent           the same in percent
//	force_N, force_kN, force_t … the force, in a unit of force
//
// Rows rise in both, from the origin or above it. The length of the strap is
// needed for an elongation only. Every fault names its line.
func ReadPoints(r io.Reader, length unit.Length, decimalComma bool) ([]Point, error) {
	header, rows, err := strict.ReadTable(r)
	if err != nil {
		return nil, err
	}
	stretch, err := stretchColumn(header, length)
	if err != nil {
		return nil, err
	}
	force, err := forceColumn(header)
	if err != nil {
		return nil, err
	}
	points := make([]Point, 0, len(rows))
	last := Point{}
	for i, row := range rows {
		x, err := stretch.number(row, decimalComma)
		if err != nil {
			return nil, err
		}
		f, err := force.number(row, decimalComma)
		if err != nil {
			return nil, err
		}
		p := Point{unit.Length(x), unit.Force(f)}
		origin := i == 0 && p == Point{}
		if !origin && !(p.Stretch > last.Stretch && p.Force > last.Force) {
			return nil, pointFault(row.Line, words.Say("kinetic.curve.rise"))
		}
		points, last = append(points, p), p
	}
	if last == (Point{}) {
		return nil, pointFault(rows[0].Line, words.Say("kinetic.curve.empty"))
	}
	return points, nil
}

// column is a column of numbers.
type column struct {
	name  string
	index int
	scale float64 // what one of its units is in SI
	most  float64 // the largest number that makes sense
}

func stretchColumn(header strict.Row, length unit.Length) (column, error) {
	found, err := oneColumn(header, "kinetic.column.stretch", func(name string) (column, bool) {
		switch name {
		case "elongation":
			return column{scale: float64(length), most: 1}, true
		case "elongation_percent":
			return column{scale: float64(length) / 100, most: 100}, true
		}
		u, ok := strings.CutPrefix(name, "stretch_")
		l, err := unit.ParseLength("1" + u)
		return column{scale: float64(l), most: math.MaxFloat64}, ok && err == nil
	})
	if err == nil && found.scale == 0 {
		return column{}, pointFault(header.Line, words.Say("kinetic.curve.share.nolength", found.name))
	}
	return found, err
}

func forceColumn(header strict.Row) (column, error) {
	return oneColumn(header, "kinetic.column.force", func(name string) (column, bool) {
		u, ok := strings.CutPrefix(name, "force_")
		f, err := unit.ParseForce("1" + u)
		return column{scale: float64(f), most: math.MaxFloat64}, ok && err == nil
	})
}

// oneColumn finds the only column that is of a kind; none is the text that says
// that there is none.
func oneColumn(header strict.Row, none string, is func(name string) (column, bool)) (found column, err error) {
	for i, name := range header.Cells {
		c, ok := is(name)
		if !ok {
			continue
		}
		if found.name != "" {
			return column{}, pointFault(header.Line, words.Say("kinetic.curve.columns.twice", found.name, name))
		}
		c.name, c.index = name, i
		found = c
	}
	if found.name == "" {
		return column{}, pointFault(header.Line, words.Say(none))
	}
	return found, nil
}

func (c column) number(row strict.Row, decimalComma bool) (float64, error) {
	text := row.Cells[c.index]
	plain := text
	if decimalComma {
		plain = strings.Replace(text, ",", ".", 1)
	}
	v, err := strconv.ParseFloat(plain, 64)
	switch {
	case err != nil && strings.Contains(text, ",") && !decimalComma:
		return 0, &strict.Error{Line: row.Line, Problem: words.Say("kinetic.curve.number.comma", c.name, text), Reason: errors.Join(ErrCurve, strict.ErrComma)}
	case err != nil || strings.ContainsAny(text, "xXpP_") || math.IsNaN(v) || math.IsInf(v, 0):
		return 0, pointFault(row.Line, words.Say("kinetic.curve.number", c.name, text))
	case v < 0:
		return 0, pointFault(row.Line, words.Say("kinetic.curve.below", c.name, text))
	case v > c.most:
		return 0, pointFault(row.Line, words.Say("kinetic.curve.large", c.name, text, c.most))
	}
	return v * c.scale, nil
}

func pointFault(line int, problem string) error {
	return &strict.Error{Line: line, Problem: problem, Reason: ErrCurve}
}
