package report

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"tautlog/calc/calibrate"
	"tautlog/calc/unit"
)

// calibration states what was in force for every cell: its curve, its
// certificate, and how sure a force is by it.
func (b *builder) calibration() {
	b.head("Calibration")
	type cell struct {
		name   string
		number int
		off    unit.Force
	}
	told := map[cell]bool{}
	for _, p := range b.Pulls {
		c := cell{name: p.Cell.Name}
		if k := p.Cell.InForce; k != nil {
			c.number, c.off = k.Number(), k.Off()
		}
		if told[c] {
			continue
		}
		told[c] = true
		rows := [][]string{{"Capacity", "not known"}, {"Curve", "not known"}, {"Uncertainty", "not known"}, {"Certificate", "not known"}}
		if p.Cell.Capacity > 0 {
			rows[0][1] = p.Cell.Capacity.Show(b.Unit, 0)
		}
		if k := p.Cell.InForce; k != nil {
			rows = append(rows[:1], b.inForce(k, p)...)
		}
		rows = append(rows, b.checks(p)...)
		b.add(Heading{Level: 3, Text: "Cell " + p.Cell.Name}, Table{Rows: rows})
	}
}

// checks tells the checks of the day, and that there was none.
func (b *builder) checks(p Pull) (rows [][]string) {
	for _, k := range p.Cell.Checks {
		at := time.Unix(0, k.At).In(p.At.Location())
		rows = append(rows, []string{"Check at " + at.Format("15:04"), k.Says(b.Unit) + " By " + k.Who + "."})
	}
	if len(rows) == 0 {
		rows = [][]string{{"Check", "none was made that day"}}
	}
	return rows
}

// inForce tells a calibration, and how sure it makes the peak of a pull.
func (b *builder) inForce(k *calibrate.InForce, p Pull) [][]string {
	rows := [][]string{{"Curve", curveText(k.Curve, b.Unit)}}
	if k.Zero != nil {
		at := time.Unix(0, k.Zero.At).In(p.At.Location())
		rows = append(rows, []string{"Zero", fmt.Sprintf("%s set by %s at %s: %s taken off, as in the curve above", k.Zero.Kind, k.Zero.Who, at.Format("15:04:05 on 2 January 2006"), k.Off().Show(b.Unit, 0))})
	}
	sure := "not known: no calibration that states it is kept. It is left out of every interval"
	read := p.Found.Peak + p.Found.Zero
	if half, ok := k.Half95(read); ok {
		sure = fmt.Sprintf("±%s at %s (95 %%)", small(half, b.Unit), read.Show(b.Unit, half))
		if quarter, ok := k.Half95(read / 4); ok {
			sure += fmt.Sprintf(", ±%s at a quarter of that", small(quarter, b.Unit))
		}
		sure += "; as the term “calibration” in the interval of each peak"
	}
	rows = append(rows, []string{"Uncertainty", sure})
	if k.Kept == nil {
		return append(rows, []string{"Certificate", "none is kept; the curve is the one that the cell was set up with"})
	}
	rows = append(rows, []string{"Calibration", calibrated(*k.Kept, b.Unit)})
	return append(rows, []string{"Certificate", certified(k.Kept.Certificate, p)})
}

// curveText is a curve in the unit that the report is in: a curve gives newtons,
// and each of its coefficients is divided by what one of the unit has of them.
func curveText(c calibrate.Curve, u unit.ForceUnit) string {
	var terms []string
	for i, v := range c.Coefficients {
		terms = append(terms, strconv.FormatFloat(unit.Force(v).In(u), 'g', 7, 64)+[]string{"", "·x", "·x²", "·x³"}[min(i, 3)])
	}
	if len(terms) == 0 {
		return "not known"
	}
	return "force in " + string(u) + " = " + strings.Join(terms, " + ") + ", x the reading"
}

// calibrated tells what a calibration rests on.
func calibrated(k calibrate.Kept, u unit.ForceUnit) string {
	from, _, _ := strings.Cut(k.From, "T")
	out := fmt.Sprintf("number %d, holds from %s", k.Number, from)
	if k.Fit != nil {
		out += fmt.Sprintf("; degree %d through %d points, lower limit factor %s (ASTM E74)", k.Fit.Degree, k.Fit.Points, small(unit.Force(k.Fit.LLF), u))
		for _, l := range k.Fit.Loading {
			if l.Reached {
				out += fmt.Sprintf("; class %s from %s", l.Class, unit.Force(l.Low).Show(u, 0))
			}
		}
		if c := k.Fit.ISO376; c.Class != "" {
			out += fmt.Sprintf("; ISO 376 class %s (limits %s)", c.Class, c.Limits)
		}
	}
	if low, high, ok := k.Forces(); ok {
		out += fmt.Sprintf("; from %s to %s", low.Show(u, 0), high.Show(u, 0))
	}
	return out
}

// certified tells a certificate, and whether it held at the pull.
func certified(c *calibrate.Certificate, p Pull) string {
	if c == nil {
		return "none"
	}
	out := c.Number
	for _, part := range []struct{ before, what string }{{" by ", c.By}, {" of ", c.Date}, {", class ", c.Class}, {", holds until ", c.Expires}} {
		if part.what != "" {
			out += part.before + part.what
		}
	}
	out += "; stated uncertainty (95 %): " + c.States()
	if c.Expired(p.Found.PeakAt) {
		out += ". It had expired when the pull was made: have the cell calibrated"
	}
	return out
}
