package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"tautlog/analysis/rating"
	"tautlog/calc/unit"
	"tautlog/dashboards/plot"
)

// pull is the section of one pull.
func (b *builder) pull(i int) {
	p := b.Pulls[i]
	kind := string(p.Kind)
	if kind == "" {
		kind = "kind not known"
	}
	b.add(Heading{2, fmt.Sprintf("%s, %s, at %s", p.Name, kind, p.At.Format("15:04:05")), len(b.Pulls) > 1})
	b.say("%s", peakOf(p, b.Unit))
	b.add(Table{Rows: b.facts(p)})
	notes := append([]string{}, p.Found.Remarks...)
	if !p.Settled {
		notes = append(notes, "This is a first result: the pull may still have been going on.")
	}
	if p.Notes != "" {
		notes = append(notes, "Notes: "+p.Notes)
	}
	if len(notes) > 0 {
		b.add(List{notes})
	}
	id := "p" + strconv.Itoa(i+1)
	if len(p.Trace) > 0 {
		b.add(Figure{b.course(p), id})
	}
	b.verdicts(i, id)
}

func (b *builder) verdicts(i int, id string) {
	p, res := b.Pulls[i], b.results[i]
	if p.Rig != nil {
		b.add(Chain{*p.Rig, res, b.Unit, id + "-", shortly(peakOf(p, b.Unit)), readings(p, b.Unit)})
	}
	if res == nil {
		b.say("%s", b.why[i])
		return
	}
	b.say("%s", res.Summary)
	if len(b.Pulls) > 1 { // every item is told under what to do next
		b.add(Table{Rows: inShort(*res)})
		return
	}
	for _, it := range res.Items {
		v := Verdict{Verdict: it.Verdict, Name: it.Name, Where: it.Where, Reason: it.Reason}
		if it.AtHigh != it.Verdict {
			v.Worst = string(it.AtHigh)
		}
		b.add(v)
	}
	if left := b.remarks(*res); len(left) > 0 {
		b.add(List{left})
	}
}

// remarks are those of a result that were not told as what does not fit.
func (b *builder) remarks(res rating.Result) []string {
	return slices.DeleteFunc(slices.Clone(res.Remarks), func(r string) bool { return b.told[r] })
}

// inShort lists the items by their verdicts, the worst first, each with its
// share of its limit.
func inShort(res rating.Result) (rows [][]string) {
	for _, it := range res.Items {
		said := it.Name
		if of := it.Percent(); of != "" {
			said += " " + of
		}
		if last := len(rows) - 1; last >= 0 && rows[last][0] == string(it.Verdict) {
			rows[last][1] += "; " + said
			continue
		}
		rows = append(rows, []string{string(it.Verdict), said})
	}
	return rows
}

// assumed tells once, for all the pulls, what to know beside the verdicts: what
// was taken for granted, and what was not judged.
func (b *builder) assumed() {
	var once gathered
	for i, res := range b.results {
		if res == nil {
			continue
		}
		for _, r := range b.remarks(*res) {
			once.add(r, i)
		}
	}
	if len(b.Pulls) < 2 || len(once.order) == 0 {
		return
	}
	b.head("What the verdicts take for granted")
	var list []string
	for _, r := range once.order {
		if in := once.in[r]; len(in) < len(b.Pulls) {
			r = capital(b.pulls(in)) + ": " + r
		}
		list = append(list, r)
	}
	b.add(List{list})
}

// shortly is a peak without its interval.
func shortly(said string) string {
	short, _, _ := strings.Cut(said, " (")
	return short
}

// readings is what each of two cells read; nil where the rig has one.
func readings(p Pull, u unit.ForceUnit) map[string]string {
	if len(p.Rig.Cells()) < 2 {
		return nil
	}
	out := map[string]string{cmp.Or(p.Read, p.Cell.Name): shortly(peakOf(p, u))}
	if q := p.Second; q != nil {
		out[q.Cell] = shortly(unit.ShowInterval("true peak", q.Value, q.Low, q.High, u))
	}
	return out
}

func (b *builder) facts(p Pull) [][]string {
	f := p.Found
	rise := "not seen"
	if f.RiseTime > 0 {
		rise = fmt.Sprintf("%s from 10 %% to 90 %%, %s/s on average", unit.ShowSeconds(f.RiseTime, f.RiseTime95), unit.ShowWithin(unit.Force(f.RiseRate), unit.Force(f.RiseRate95), b.Unit))
	}
	factor := "not known: the mass of the stuck vehicle is not recorded"
	if m := p.Logged.Reference; m > 0 {
		factor = strings.TrimSpace(fmt.Sprintf("%s the weight of %v. %s", p.Logged.Times(), m, p.Logged.SureOfMass()))
	}
	speed := "not recorded"
	if p.Speed != nil {
		speed = p.Speed.String()
	}
	rows := [][]string{{"Rise", rise}, {"Impulse", unit.ShowWithin(unit.Force(f.Impulse), unit.Force(f.Impulse95), b.Unit) + "·s"}, {"Shock factor", factor}, {"Speed", speed}, {"Lasted", seconds(float64(f.End-f.Start) / 1e9)}}
	if p.Limits != nil {
		rows = append(rows, []string{"Limits", p.Limits.told(b.Unit)})
	}
	if p.Ground != "" {
		rows = append(rows, []string{"Ground", p.Ground})
	}
	return append(rows, []string{"Cell", p.Cell.Name})
}

// told says who set the limits, and what was found.
func (l Limits) told(u unit.ForceUnit) string {
	const clock = "15:04:05.000"
	return fmt.Sprintf("%s to %s, set by hand by %s, %s; found were %s to %s, with a peak of %s",
		l.From.Format(clock), l.To.Format(clock), l.Who, l.When.Format("2 January 2006, 15:04"), l.FoundFrom.Format(clock), l.FoundTo.Format(clock),
		unit.ShowInterval("true peak", l.Found.Peak, l.Found.PeakLow, l.Found.PeakHigh, u))
}

func (b *builder) course(p Pull) plot.Course {
	f := p.Found
	peak := f.PeakHigh
	if f.AtLeast() {
		peak = unit.Force(math.Inf(1))
	}
	return plot.Course{
		Title: p.Name + ": the trace", Caption: "Gaps in the readings stay open.", Parts: p.Trace,
		PeakAt: float64(f.PeakAt-f.Start) / 1e9, End: float64(f.End-f.Start) / 1e9,
		Peak: f.Peak, Low: f.PeakLow, High: peak, Unit: b.Unit,
	}
}

func peakOf(p Pull, u unit.ForceUnit) string {
	return unit.ShowInterval("true peak", p.Found.Peak, p.Found.PeakLow, p.Found.PeakHigh, u)
}

// seconds prints a duration with the digits that it deserves.
func seconds(s float64) string {
	if s < 1 {
		return strconv.FormatFloat(s*1000, 'f', 0, 64) + " ms"
	}
	return strconv.FormatFloat(s, 'f', 1, 64) + " s"
}
