package web

import (
	"cmp"
	"math"
	"strconv"
	"strings"
	"time"

	"tautlog/calc/calibrate"
	"tautlog/calc/unit"
	"tautlog/calc/words"
	"tautlog/ingest/derive"
	"tautlog/ingest/record"
	"tautlog/ingest/store"
)

// soonDays is how many days before its last one a certificate is spoken of.
const soonDays = 30

// is tells what a cell is and what was taken of it.
func (v cellView) is() []fact {
	none := text("cell.is.none")
	sends := none
	if v.Wire.Format != "" { // a cell of an imported trace sends nothing
		sends = text("cell.sends." + string(v.Wire.Format))
	}
	if v.Rate > 0 {
		sends = text("cell.is.sends", sends, v.Rate)
	}
	stored := text("cell.is.nothing")
	if v.Stored > 0 {
		stored = count("cell.is.stored", int(v.Stored), v.First, v.Last)
	}
	out := []fact{
		{text("cell.fact.port"), cmp.Or(v.Line.Path, none)}, {text("cell.fact.sends"), sends},
		{text("cell.fact.capacity"), cmp.Or(v.CapacityIn, none)}, {text("cell.fact.stored"), stored},
	}
	if v.Status == nil {
		return out
	}
	return append(out, doing(*v.Status)...)
}

// doing tells what came of a cell since it is recorded.
func doing(st record.Status) []fact {
	since := st.Since.Format("15:04:05")
	up := text("cell.is.away", since)
	if st.Up {
		up = text("cell.is.connected", since)
	}
	d := st.Decode
	out := []fact{
		{text("cell.fact.since"), up}, {text("cell.fact.taken"), count("cell.is.taken", int(d.Readings), d.Bytes)},
		{text("cell.fact.refused"), text("cell.is.refused", d.Rejected, d.Lost)},
	}
	if st.Held > 0 {
		out = append(out, fact{text("cell.fact.waiting"), count("cell.is.waiting", st.Held)})
	}
	if st.Lost > 0 {
		out = append(out, fact{text("cell.fact.lost"), count("cell.is.lost", st.Lost)})
	}
	return out
}

// inForceLead is what is in force, in one sentence.
func inForceLead(c derive.Cell, now *calibrate.InForce, u unit.ForceUnit) string {
	if now.Kept == nil {
		if now.Curve.Relative95 > 0 {
			return text("cell.setup.stated", 100*now.Curve.Relative95)
		}
		return text("cell.setup")
	}
	at := c.Capacity / 2
	if _, high, ok := now.Kept.Forces(); ok {
		at = high / 2
	}
	half, ok := now.Half95(at - now.Off())
	if !ok || at <= 0 {
		return text("cell.inforce.unsure", now.Kept.Label())
	}
	return text("cell.inforce", now.Kept.Label(), at.Show(u, half), offBy(half, u))
}

// inForceFacts is what is known of it.
func inForceFacts(c derive.Cell, now *calibrate.InForce, u unit.ForceUnit) []fact {
	if now.Kept == nil {
		return nil
	}
	k := now.Kept
	out := []fact{{text("page.cell.told.holds-from"), words.DateOf(k.From)}}
	low, high, ranged := k.Forces()
	if ranged {
		out = append(out, fact{text("page.cell.told.calibrated"), text("cell.range", low.Show(u, 0), high.Show(u, 0))})
		var sure []string
		for _, part := range []unit.Force{0, 0.25, 0.5, 1} {
			if half, ok := now.Half95(high*part - now.Off()); ok {
				sure = append(sure, text("cell.sureat", offBy(half, u), (high*part).Show(u, high/100)))
			}
		}
		if len(sure) > 0 {
			out = append(out, fact{text("page.cell.told.force-within"), strings.Join(sure, "; ")})
		}
	}
	out = append(out, certificateFacts(k.Certificate)...)
	if k.Note != "" {
		out = append(out, fact{text("page.cell.told.note"), k.Note})
	}
	if now.Zero != nil {
		out = append(out, fact{text("page.cell.told.zero-in-force"), zeroSays(c, *now.Zero, u)})
	}
	return out
}

// fitFacts are the figures of a fit.
func fitFacts(r calibrate.Record, u unit.ForceUnit) []fact {
	iso := text("cell.noiso")
	if r.ISO376.Class != "" {
		iso = text("cell.iso", r.ISO376.Class, r.ISO376.Limits)
	}
	out := []fact{
		{text("page.cell.told.curve"), count("cell.curve", r.Points, r.Degree, offBy(unit.Force(r.ResidualSD), u))},
		{text("page.cell.told.why-this-degree"), sentence(r.DegreeReason)},
		{text("page.cell.told.lower-limit-factor"), text("cell.llf", offBy(unit.Force(r.LLF), u), loading(r, u))},
		{text("cell.iso376"), iso},
	}
	if errs := isoErrors(r.ISO376); errs != "" {
		out = append(out, fact{text("cell.isoerrors"), errs})
	}
	if len(r.ISO376.Missing) > 0 {
		out = append(out, fact{text("cell.isomissing"), sentence(strings.Join(r.ISO376.Missing, "; "))})
	}
	return out
}

// isoErrors tells the errors of ISO 376 that a series gives.
func isoErrors(r calibrate.ISO376Record) string {
	var out []string
	for _, e := range []struct {
		name string
		v    *float64
	}{{"cell.iso.repeatability", r.Repeatability}, {"cell.iso.reproducibility", r.Reproducibility}, {"cell.iso.interpolation", r.Interpolation}, {"cell.iso.zero", r.Zero}, {"cell.iso.reversibility", r.Reversibility}, {"cell.iso.resolution", r.Resolution}} {
		if e.v != nil {
			out = append(out, text("cell.isoerror", text(e.name), *e.v))
		}
	}
	return strings.Join(out, ", ")
}

// loading tells the classes of ASTM E74 that the points reach.
func loading(r calibrate.Record, u unit.ForceUnit) string {
	var out []string
	for _, l := range r.Loading {
		if l.Reached {
			out = append(out, text("cell.class", l.Class, unit.Force(l.Low).Show(u, 0)))
		}
	}
	if len(out) == 0 {
		return text("cell.noclass")
	}
	return strings.Join(out, ", ")
}

func certificateFacts(c *calibrate.Certificate) []fact {
	if c == nil {
		return []fact{{text("page.cell.told.certificate"), text("cell.nocertificate")}}
	}
	out := []fact{{text("page.cell.told.certificate"), c.Number}, {text("page.cell.told.calibrated-by"), c.By}, {text("page.cell.told.date"), words.DateOf(c.Date)}, {text("page.cell.told.holds-until"), words.DateOf(c.Expires)}}
	if c.Class != "" {
		out = append(out, fact{text("page.cell.told.class-stated"), c.Class})
	}
	out = append(out, fact{text("page.cell.told.uncertainty-stated"), c.States()})
	for i := range out {
		if out[i].Value == "" {
			out[i].Value = text("undo.unknown")
		}
	}
	return out
}

// certificateAlarms tells that the certificate runs out, well before it does.
func (s *server) certificateAlarms(now *calibrate.InForce) []string {
	if now.Kept == nil {
		return nil
	}
	end, ok := now.Kept.Certificate.Ends()
	if !ok {
		return nil
	}
	last := words.DateOf(now.Kept.Certificate.Expires)
	switch left := time.Unix(0, end).Sub(s.Now()); {
	case left <= 0:
		return []string{text("cell.expired", now.Kept.Certificate.Number, last)}
	case left <= soonDays*24*time.Hour:
		return []string{text("cell.expires", now.Kept.Certificate.Number, last, days(int(math.Ceil(left.Hours()/24))-1))}
	}
	return nil
}

// days says how many days there are.
func days(n int) string {
	if n == 0 {
		return text("cell.days.none")
	}
	return count("cell.days.left", n)
}

// keptSays names a calibration, and what is of it now.
func (s *server) keptSays(k store.Calibration, now *calibrate.InForce) string {
	switch {
	case !k.Removed.IsZero():
		return sentence(text("cell.kept.out", k.Label(), s.at(k.Removed.UnixNano())))
	case now.Number() == k.Number:
		return sentence(text("cell.kept.in", k.Label(), words.DateOf(k.From)))
	}
	return sentence(text("cell.kept", k.Label(), words.DateOf(k.From)))
}

func keptMore(k store.Calibration, u unit.ForceUnit) []string {
	out := []string{text("cell.kept.made", words.DateOf(k.Made), k.Who)}
	if k.Repeats != 0 {
		out = append(out, text("cell.kept.repeats", k.Repeats))
	}
	if k.Fit != nil {
		out = append(out, count("cell.curve", k.Fit.Points, k.Fit.Degree, offBy(unit.Force(k.Fit.ResidualSD), u)))
	}
	if k.Note != "" {
		out = append(out, k.Note)
	}
	for i := range out {
		out[i] = sentence(out[i])
	}
	return out
}

// zeroSays tells a zero by the calibration that is in force at its time.
func zeroSays(c derive.Cell, z calibrate.Zero, u unit.ForceUnit) string {
	f := c.History.At(z.At)
	off := f.Curve.Force(z.Reading) + f.Off()
	name := "zero.slack"
	if z.Kind == calibrate.Tare {
		name = "zero.tare"
	}
	return text(name, off.Show(u, lastDigit(c.Cell)/10), z.Reading)
}

// pointRow is a point of a calibration in a list.
type pointRow struct{ Force, Reading, Off, Run string }

// pointRows lists points with how far each lies from the curve; without a curve
// only the points.
func pointRows(points []calibrate.Point, curve calibrate.Curve, u unit.ForceUnit) []pointRow {
	out := make([]pointRow, len(points))
	for i, p := range points {
		out[i] = pointRow{Force: p.Force.Show(u, 0), Reading: strconv.FormatFloat(math.Round(p.Reading*100)/100, 'f', -1, 64), Run: p.Run}
		if len(curve.Coefficients) > 0 {
			out[i].Off = offBy(p.Force-curve.Force(p.Reading), u)
		}
		if p.Down {
			out[i].Run = strings.TrimSpace(out[i].Run + " " + text("point.down"))
		}
	}
	return out
}

// offBy is how far something is off, no finer than a tenth of a newton; in
// newtons where kilonewtons would be all zeros.
func offBy(f unit.Force, u unit.ForceUnit) string {
	size := math.Abs(float64(f))
	if size < 0.05 {
		f = 0
	}
	if u == unit.Kilonewton && size < 100 {
		u = unit.Newton
	}
	return f.ShowTwo(u)
}
