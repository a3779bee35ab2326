package calibrate

import (
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"tautlog/calc/strict"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Point is a reading under a known force.
type Point struct {
	Reading float64    `json:"reading"`
	Force   unit.Force `json:"force"`
	Run     string     `json:"run,omitempty"`  // name of the series it belongs to; empty where there is none
	Down    bool       `json:"down,omitempty"` // taken while the force was decreasing
}

// ErrPoints says that a table holds no calibration points.
var ErrPoints error = words.Kind("calibrate.points")

// ReadPoints reads a table with the columns reading, force_N (or force_kN,
// force_kgf, force_lbf, force_t) and, if there, run and direction (up or down).
// Another column, a value that is missing or no finite number, and a second
// column of force are refused with a strict.Error that has the line.
func ReadPoints(r io.Reader) ([]Point, error) {
	header, rows, err := strict.ReadTable(r)
	if err != nil {
		return nil, err
	}
	c, err := findColumns(header)
	if err != nil {
		return nil, err
	}
	points := make([]Point, 0, len(rows))
	for _, row := range rows {
		p, err := c.point(row)
		if err != nil {
			return nil, err
		}
		points = append(points, p)
	}
	return points, nil
}

// columns says where in a row the parts of a point are; -1 is nowhere.
type columns struct {
	reading, force, run, direction int
	unit                           unit.ForceUnit
}

func findColumns(header strict.Row) (c columns, err error) {
	c = columns{reading: -1, force: -1, run: -1, direction: -1}
	for i, name := range header.Cells {
		u, isForce := strings.CutPrefix(name, "force_")
		switch {
		case name == "reading":
			c.reading = i
		case name == "run":
			c.run = i
		case name == "direction":
			c.direction = i
		case isForce && c.force >= 0:
			return c, fault(header, words.Say("calibrate.points.two"))
		case isForce:
			if c.unit, err = unit.ParseForceUnit(u); err != nil {
				return c, fault(header, words.Say("calibrate.points.column", name, err))
			}
			c.force = i
		default:
			return c, fault(header, words.Say("calibrate.points.unknown", name))
		}
	}
	if c.reading < 0 || c.force < 0 {
		return c, fault(header, words.Say("calibrate.points.needed"))
	}
	return c, nil
}

func (c columns) point(row strict.Row) (p Point, err error) {
	if p.Reading, err = number(row, c.reading, "reading"); err != nil {
		return p, err
	}
	f, err := number(row, c.force, "force")
	if err != nil {
		return p, err
	}
	if p.Force = unit.Force(f) * c.unit.Newtons(); math.IsInf(float64(p.Force), 0) {
		return p, fault(row, words.Say("calibrate.points.large", row.Cells[c.force]))
	}
	if c.run >= 0 {
		p.Run = row.Cells[c.run]
	}
	if c.direction >= 0 {
		word := strings.ToLower(row.Cells[c.direction])
		if !slices.Contains([]string{"up", "down", ""}, word) {
			return p, fault(row, words.Say("calibrate.points.direction", row.Cells[c.direction]))
		}
		p.Down = word == "down"
	}
	return p, nil
}

func number(row strict.Row, column int, what string) (float64, error) {
	v, err := strconv.ParseFloat(row.Cells[column], 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, fault(row, words.Say("calibrate.points.number", what, row.Cells[column]))
	}
	return v, nil
}

func fault(row strict.Row, problem string) error {
	return &strict.Error{Line: row.Line, Problem: problem, Reason: ErrPoints}
}
