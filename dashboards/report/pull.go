package report

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"

	"tautlog/analysis/pull"
	"tautlog/analysis/rating"
	"tautlog/calc/unit"
	"tautlog/calc/words"
	"tautlog/dashboards/plot"
)

// name is what a pull is called.
func (p Pull) name() string { return words.Say("report.pull", p.Number) }

// kind is a kind of pull in words.
func kind(k pull.Kind) string {
	switch k {
	case pull.Kinetic:
		return words.Say("report.kind.kinetic")
	case pull.Steady:
		return words.Say("report.kind.steady")
	case pull.Proof:
		return words.Say("report.kind.proof")
	}
	return words.Say("report.kind.unknown")
}

// pull is the section of one pull.
func (b *builder) pull(i int) {
	p := b.Pulls[i]
	b.add(Heading{2, words.Say("report.pull.head", p.name(), kind(p.Kind), p.At.Format("15:04:05")), len(b.Pulls) > 1})
	b.say(peakOf(p, b.Unit))
	b.add(Table{Rows: b.facts(p)})
	notes := append([]string{}, p.Found.Remarks...)
	if !p.Settled {
		notes = append(notes, words.Say("report.unsettled"))
	}
	if p.Notes != "" {
		notes = append(notes, words.Say("report.notes", p.Notes))
	}
	if len(notes) > 0 {
		b.add(List{notes})
	}
	id := "p" + strconv.Itoa(i+1)
	if len(p.Trace) > 0 {
		b.add(Figure{b.course(p), id, len(b.Pulls) > 1})
	}
	b.verdicts(i, id)
}

func (b *builder) verdicts(i int, id string) {
	p, res := b.Pulls[i], b.results[i]
	if p.Rig != nil {
		b.add(Chain{*p.Rig, res, b.Unit, id + "-", p.peakAlone(b.Unit), readings(p, b.Unit)})
	}
	if res == nil {
		b.say(b.why[i])
		return
	}
	b.say(res.Summary)
	if len(b.Pulls) > 1 { // every item is told under what to do next
		b.add(Table{Rows: inShort(*res)})
		return
	}
	for _, it := range res.Items {
		v := Verdict{Verdict: it.Verdict, Name: it.Name, Where: it.Where, Reason: it.Reason}
		if it.AtHigh != it.Verdict {
			v.Worst = it.AtHigh
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
			said += ": " + of // a name may end in a number
		}
		if last := len(rows) - 1; last >= 0 && rows[last][0] == verdict(it.Verdict) {
			rows[last][1] += "; " + said
			continue
		}
		rows = append(rows, []string{verdict(it.Verdict), said})
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
	b.head(words.Say("report.assumed"))
	var list []string
	for _, r := range once.order {
		if in := once.in[r]; len(in) < len(b.Pulls) {
			r = words.Say("report.assumed."+some(in), b.numbers(in), r)
		}
		list = append(list, r)
	}
	b.add(List{list})
}

// peakAlone is a peak without its interval, with the digits that it deserves.
func peakAlone(peak, low, high unit.Force, u unit.ForceUnit) string {
	alone, _ := unit.IntervalParts(words.Say("report.truepeak"), peak, low, high, unit.IntervalPlace(peak, low, high, u), u)
	return alone
}

func (p Pull) peakAlone(u unit.ForceUnit) string {
	return peakAlone(p.Found.Peak, p.Found.PeakLow, p.Found.PeakHigh, u)
}

// readings is what each of two cells read; nil where the rig has one.
func readings(p Pull, u unit.ForceUnit) map[string]string {
	if len(p.Rig.Cells()) < 2 {
		return nil
	}
	out := map[string]string{cmp.Or(p.Read, p.Cell.Name): p.peakAlone(u)}
	if q := p.Second; q != nil {
		out[q.Cell] = peakAlone(q.Value, q.Low, q.High, u)
	}
	return out
}

func (b *builder) facts(p Pull) [][]string {
	f := p.Found
	rise := words.Say("report.rise.unseen")
	if f.RiseTime > 0 {
		rise = words.Say("report.rise.is", unit.ShowSeconds(f.RiseTime, f.RiseTime95), unit.ShowWithin(unit.Force(f.RiseRate), unit.Force(f.RiseRate95), b.Unit))
	}
	factor := words.Say("report.factor.unknown")
	if m := p.Logged.Reference; m > 0 {
		factor = strings.TrimSpace(words.Say("report.factor.is", p.Logged.Times(), m) + " " + p.Logged.SureOfMass())
	}
	speed := words.Say("report.speed.unknown")
	if p.Speed != nil {
		speed = p.Speed.String()
	}
	rows := [][]string{{words.Say("report.rise"), rise}, {words.Say("report.impulse"), unit.ShowWithin(unit.Force(f.Impulse), unit.Force(f.Impulse95), b.Unit) + "·s"}, {words.Say("report.factor"), factor}, {words.Say("report.speed"), speed}, {words.Say("report.lasted"), seconds(float64(f.End-f.Start) / 1e9)}}
	if p.Limits != nil {
		rows = append(rows, []string{words.Say("report.limits"), p.Limits.told(b.Unit)})
	}
	if p.Ground != "" {
		rows = append(rows, []string{words.Say("report.ground"), p.Ground})
	}
	return append(rows, []string{words.Say("report.cell"), p.Cell.Name})
}

// told says who set the limits, and what was found.
func (l Limits) told(u unit.ForceUnit) string {
	const clock = "15:04:05.000"
	if l.Made {
		return words.Say("report.limits.made", l.From.Format(clock), l.To.Format(clock), l.Who, words.DateAt(l.When, "15:04"))
	}
	return words.Say("report.limits.are",
		l.From.Format(clock), l.To.Format(clock), l.Who, words.DateAt(l.When, "15:04"), l.FoundFrom.Format(clock), l.FoundTo.Format(clock),
		unit.ShowInterval(words.Say("report.truepeak"), l.Found.Peak, l.Found.PeakLow, l.Found.PeakHigh, u))
}

func (b *builder) course(p Pull) plot.Course {
	f := p.Found
	peak := f.PeakHigh
	if f.AtLeast() {
		peak = unit.Force(math.Inf(1))
	}
	return plot.Course{
		Title: words.Say("report.trace", p.name()), Caption: words.Say("report.trace.gaps"), Parts: p.Trace,
		PeakAt: float64(f.PeakAt-f.Start) / 1e9, End: float64(f.End-f.Start) / 1e9,
		Peak: f.Peak, Low: f.PeakLow, High: peak, Unit: b.Unit,
	}
}

func peakOf(p Pull, u unit.ForceUnit) string {
	return unit.ShowInterval(words.Say("report.truepeak"), p.Found.Peak, p.Found.PeakLow, p.Found.PeakHigh, u)
}

// seconds prints a duration with the digits that it deserves.
func seconds(s float64) string {
	if s < 1 {
		return strconv.FormatFloat(s*1000, 'f', 0, 64) + " ms"
	}
	return strconv.FormatFloat(s, 'f', 1, 64) + " s"
}
