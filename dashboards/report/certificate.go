package report

import (
	"strconv"
	"strings"
	"time"

	"tautlog/calc/calibrate"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// calibration states what was in force for every cell: its curve, its
// certificate, and how sure a force is by it.
func (b *builder) calibration() {
	b.head(words.Say("report.calibration"))
	largest := map[read]unit.Force{}
	for _, p := range b.Pulls {
		c := readBy(p)
		largest[c] = max(largest[c], p.Found.Peak+p.Found.Zero)
	}
	told := map[read]bool{}
	for _, p := range b.Pulls {
		c := readBy(p)
		if told[c] {
			continue
		}
		told[c] = true
		rows := [][]string{
			{words.Say("report.capacity"), words.Say("report.notknown")}, {words.Say("report.curve"), words.Say("report.notknown")},
			{words.Say("report.uncertainty"), words.Say("report.notknown")}, {words.Say("report.certificate"), words.Say("report.notknown")},
		}
		if p.Cell.Capacity > 0 {
			rows[0][1] = p.Cell.Capacity.Show(b.Unit, 0)
		}
		if k := p.Cell.InForce; k != nil {
			rows = append(rows[:1], b.inForce(k, p, largest[c])...)
		}
		rows = append(rows, b.checks(p)...)
		b.add(Heading{Level: 3, Text: words.Say("report.cell.head", p.Cell.Name)}, Table{Rows: rows})
	}
}

// read is a cell with what was in force for it.
type read struct {
	cell   string
	number int
	off    unit.Force
}

func readBy(p Pull) read {
	r := read{cell: p.Cell.Name}
	if k := p.Cell.InForce; k != nil {
		r.number, r.off = k.Number(), k.Off()
	}
	return r
}

// checks tells the checks of the day, and that there was none.
func (b *builder) checks(p Pull) (rows [][]string) {
	for _, k := range p.Cell.Checks {
		at := time.Unix(0, k.At).In(p.At.Location())
		rows = append(rows, []string{words.Say("report.check", at.Format("15:04")), words.Say("report.check.says", k.Says(b.Unit), k.Who)})
	}
	if len(rows) == 0 {
		rows = [][]string{{words.Say("report.check.none"), words.Say("report.check.none.says")}}
	}
	return rows
}

// inForce tells a calibration of the time of a pull, and how sure it makes a
// force: the largest that was read by it.
func (b *builder) inForce(k *calibrate.InForce, p Pull, largest unit.Force) [][]string {
	rows := [][]string{{words.Say("report.curve"), curveText(k.Curve, b.Unit)}}
	if k.Zero != nil {
		at := time.Unix(0, k.Zero.At).In(p.At.Location())
		rows = append(rows, []string{words.Say("report.zero"), words.Say("report.zero.is", k.Zero.Kind, k.Zero.Who, at.Format("15:04:05"), words.Date(at), k.Off().Show(b.Unit, 0))})
	}
	sure := words.Say("report.uncertainty.unknown")
	if half, ok := k.Half95(largest); ok {
		at, beside := largest.Show(b.Unit, half), half.ShowTwo(b.Unit)
		sure = words.Say("report.uncertainty.at", beside, at)
		if quarter, ok := k.Half95(largest / 4); ok {
			sure = words.Say("report.uncertainty.quarter", beside, at, quarter.ShowTwo(b.Unit))
		}
	}
	rows = append(rows, []string{words.Say("report.uncertainty"), sure})
	if k.Kept == nil {
		return append(rows, []string{words.Say("report.certificate"), words.Say("report.certificate.none.kept")})
	}
	rows = append(rows, []string{words.Say("report.calibration"), calibrated(*k.Kept, b.Unit)})
	return append(rows, []string{words.Say("report.certificate"), certified(k.Kept.Certificate, p)})
}

// curveText is a curve in the unit that the report is in: a curve gives newtons,
// and each of its coefficients is divided by what one of the unit has of them.
func curveText(c calibrate.Curve, u unit.ForceUnit) string {
	var terms []string
	for i, v := range c.Coefficients {
		terms = append(terms, strconv.FormatFloat(unit.Force(v).In(u), 'g', 7, 64)+[]string{"", "·x", "·x²", "·x³"}[min(i, 3)])
	}
	if len(terms) == 0 {
		return words.Say("report.notknown")
	}
	return words.Say("report.curve.is", u, strings.Join(terms, " + "))
}

// calibrated tells what a calibration rests on.
func calibrated(k calibrate.Kept, u unit.ForceUnit) string {
	from, _, _ := strings.Cut(k.From, "T")
	out := []string{words.Say("report.fit.number", k.Number, words.DateOf(from))}
	if k.Fit != nil {
		out = append(out, words.Count("report.fit.through", k.Fit.Points, k.Fit.Degree, unit.Force(k.Fit.LLF).ShowTwo(u)))
		for _, l := range k.Fit.Loading {
			if l.Reached {
				out = append(out, words.Say("report.fit.class", l.Class, unit.Force(l.Low).Show(u, 0)))
			}
		}
		if c := k.Fit.ISO376; c.Class != "" {
			out = append(out, words.Say("report.fit.iso376", c.Class, c.Limits))
		}
	}
	if low, high, ok := k.Forces(); ok {
		out = append(out, words.Say("report.fit.range", low.Show(u, 0), high.Show(u, 0)))
	}
	return strings.Join(out, "; ")
}

// certified tells a certificate, and whether it held at the pull.
func certified(c *calibrate.Certificate, p Pull) string {
	if c == nil {
		return words.Say("report.certificate.none")
	}
	out := c.Number
	if c.By != "" {
		out = words.Say("report.certificate.by", out, c.By)
	}
	if c.Date != "" {
		out = words.Say("report.certificate.of", out, words.DateOf(c.Date))
	}
	if c.Class != "" {
		out = words.Say("report.certificate.class", out, c.Class)
	}
	if c.Expires != "" {
		out = words.Say("report.certificate.until", out, words.DateOf(c.Expires))
	}
	out = words.Say("report.certificate.states", out, c.States())
	if c.Expired(p.Found.PeakAt) {
		out = words.Say("report.certificate.expired", out)
	}
	return out
}
