package web

import (
	"cmp"
	"context"
	"html/template"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"tautlog/analysis/pull"
	"tautlog/analysis/rating"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/calc/words"
	"tautlog/dashboards/chain"
	"tautlog/dashboards/report"
	"tautlog/ingest/store"
)

// result is a pull as it is told: what happened, how sure, what it means for
// each item.
type result struct {
	ID          int64
	When, Day   string
	Cell        string
	Kind        string
	KindChanged string
	Provisional bool
	Peak        string // the number
	Interval    string // in brackets, in words
	Listed      listedPeak
	Facts       []fact
	Remarks     []string // about the measurement
	RigName     string
	Beside      *beside // the same pull at the rig's other cell
	Unjudged    string  // why there are no verdicts
	Summary     string
	Verdicts    []verdict
	RigRemarks  []string
	Wide, Tall  template.HTML
	Mini        template.HTML
	Ground      string
	Notes       string
	Ask         *askView // what the live page asks of it; nil: nothing
}

// beside is a pull as the other cell of the rig saw it.
type beside struct {
	ID   int64
	Cell string
	Peak string
}

type fact struct{ Name, Value string }

// verdict is one item of the rig, told.
type verdict struct {
	rating.Item
	Weakest bool
	Worst   string // what it is at the upper end of the interval, where that differs
	Advice  string // what to do about it next; empty: nothing
	Page    string // of the item in the register, where something is to be done and it is there
}

func (s *server) result(ctx context.Context, p store.Pull, cell string, u unit.ForceUnit) (result, error) {
	at := time.Unix(0, p.Found.Start).In(s.Zone)
	f := p.Found
	r := result{
		ID: p.ID, When: at.Format("15:04:05"), Day: words.Date(at), Cell: cell,
		Kind: kindWords(p.Kind), Provisional: !p.Settled,
		Remarks: f.Remarks, Ground: p.Ground, Notes: p.Notes,
	}
	r.Peak, r.Interval = peakShown(f, u)
	if p.Kind != "" && p.Kind != f.Kind {
		r.KindChanged = text("kind.changed", kindName(f.Kind), kindName(p.Kind))
	}
	if len(r.Remarks) == 0 {
		r.Remarks = pull.FlagNames(f.Flags)
	}
	if left := f.Unknown(); len(left) > 0 {
		r.Remarks = append(slices.Clone(r.Remarks), text("peak.leftout", termNames(left)))
	}
	r.Facts = []fact{{text("page.result.rise"), rise(f, u)}, {text("page.result.shock-factor"), shockFactor(p, u)}}
	r.Facts = append(r.Facts, held(f, u)...)
	return r, s.judge(ctx, &r, p, u)
}

// judge adds the rig and what the peak means for it.
func (s *server) judge(ctx context.Context, r *result, p store.Pull, u unit.ForceUnit) error {
	if p.Rig == nil {
		r.Unjudged = text("norig")
		return nil
	}
	r.RigName = p.Rig.Name
	first := rating.Reading{Cell: cmp.Or(p.Read, r.Cell), Peak: rating.PeakOf(p.Found)}
	first.Kind, first.On = p.Kind, s.dateOf(p.Found.Start)
	second, err := s.otherCell(ctx, r, p, u)
	if err != nil {
		return err
	}
	o := chain.Options{Unit: u, ID: "p" + strconv.FormatInt(r.ID, 10) + "-", Reading: r.Peak}
	if len(p.Rig.Cells()) > 1 {
		o.Readings = map[string]string{first.Cell: r.Peak}
	}
	if second != nil {
		o.Readings[second.Cell] = r.Beside.Peak
	}
	res, err := rating.JudgeRead(first, second, *p.Rig, u)
	if err != nil {
		r.Unjudged = text("notjudged", err)
		r.draw(*p.Rig, nil, o)
		return nil
	}
	r.Summary, r.RigRemarks = res.Summary, res.Remarks
	for i, it := range res.Items {
		v := verdict{Item: it, Weakest: i == 0}
		if it.AtHigh != it.Verdict && it.AtHigh != "" && !it.Open { // of a lower bound the reason says it
			v.Worst = it.AtHigh.String()
		}
		r.Verdicts = append(r.Verdicts, v)
	}
	r.draw(*p.Rig, &res, o)
	return nil
}

// advise adds to the items of a pull what to do about them next, and the page of
// each on which that is done.
func (s *server) advise(ctx context.Context, pull int64, items []verdict) error {
	asks := func(v verdict) bool { return report.Asks(v.Item) }
	if !slices.ContainsFunc(items, asks) {
		return nil
	}
	refs, err := s.Store.PullItems(ctx, pull)
	for i, v := range items {
		if !asks(v) {
			continue
		}
		items[i].Advice = report.Advice(v.Item)
		if ref := refs[gear.Item{ID: v.ID, Name: v.Name, Kind: v.Kind}.Key()]; ref != 0 {
			items[i].Page = pathOf("gear", ref)
		}
	}
	return err
}

// otherCell is what the rig's other cell read of the same pull; nil where it
// has none.
func (s *server) otherCell(ctx context.Context, r *result, p store.Pull, u unit.ForceUnit) (*rating.Reading, error) {
	q, ok, err := s.Store.PullBeside(ctx, p)
	if err != nil || !ok {
		return nil, err
	}
	r.Beside = &beside{ID: q.ID, Cell: q.Read}
	r.Beside.Peak, _ = peakShown(q.Found, u)
	return &rating.Reading{Cell: q.Read, Peak: rating.PeakOf(q.Found)}, nil
}

func (r *result) draw(g rig.Rig, res *rating.Result, o chain.Options) {
	r.Wide, r.Tall, r.Mini = drawn(g, res, o, chain.Wide), drawn(g, res, o, chain.Tall), drawn(g, res, o, chain.Mini)
}

// drawn is a chain as markup; the chain package escapes every name in it.
func drawn(g rig.Rig, res *rating.Result, o chain.Options, f chain.Form) template.HTML {
	var b strings.Builder
	o.Form = f
	if err := chain.SVG(&b, g, res, o); err != nil {
		panic("web: a string builder refused to be written: " + err.Error())
	}
	return template.HTML(b.String()) //nolint:gosec // see above
}

func kindWords(k pull.Kind) string {
	if name := "kind." + string(k); words.Known(name) {
		return text(name)
	}
	return text("kind.")
}

// peakShown is the peak with the digits that its interval deserves, and the
// interval in words.
func peakShown(f pull.Pull, u unit.ForceUnit) (peak, interval string) {
	return peakTo(f, unit.IntervalPlace(f.Peak, f.PeakLow, f.PeakHigh, u), u)
}

// peakTo is peakShown with another last digit.
func peakTo(f pull.Pull, last unit.Place, u unit.ForceUnit) (peak, interval string) {
	peak, interval = unit.IntervalParts(text("peak.what"), f.Peak, f.PeakLow, f.PeakHigh, last, u)
	if f.AtLeast() {
		return peak, "(" + text("peak.atleast") + ")"
	}
	return peak, "(" + interval + ")"
}

// rise says how fast the load came.
func rise(f pull.Pull, u unit.ForceUnit) string {
	if f.RiseTime <= 0 {
		return text("rise.unseen")
	}
	return text("rise", risePart(f, u), unit.ShowSeconds(f.RiseTime, f.RiseTime95), unit.ShowWithin(unit.Force(f.RiseRate), unit.Force(f.RiseRate95), u), about(unit.Force(f.MaxRise), u))
}

func risePart(f pull.Pull, u unit.ForceUnit) string {
	return text("rise.part", about(f.Peak-f.Standing, u))
}

// about is a derived force, with three digits.
func about(f unit.Force, u unit.ForceUnit) string { return f.Show(u, 0) }

// seconds prints a duration with the digits it deserves.
func seconds(s float64) string {
	switch {
	case s < 1:
		return strconv.FormatFloat(s*1000, 'f', 0, 64) + " ms"
	case s < 100:
		return strconv.FormatFloat(s, 'f', 1, 64) + " s"
	}
	return strconv.FormatFloat(s/60, 'f', 1, 64) + " min"
}

// held tells what a longer load did, and how it came back.
func held(f pull.Pull, u unit.ForceUnit) []fact {
	var out []fact
	if f.Steady != nil {
		level := about(*f.Steady, u)
		if f.StickSlip != nil && *f.StickSlip > 0 {
			level += ", " + text("steady.swing", about(*f.StickSlip, u))
		}
		out = append(out, fact{text("page.result.held-at"), level})
	}
	if f.Held != nil {
		out = append(out, fact{text("page.result.held-for"), seconds(*f.Held)})
	}
	if f.HoldDecay != nil {
		out = append(out, fact{text("page.result.lost"), text("hold.decay", strconv.FormatFloat(100**f.HoldDecay, 'f', 1, 64)+" %")})
	}
	if f.Rebounds > 0 {
		out = append(out, fact{text("page.result.came-back"), rebounds(f)})
	}
	return out
}

func rebounds(f pull.Pull) string {
	n := count("rebound.many", f.Rebounds)
	if f.Rebound == nil {
		return n
	}
	return text("rebound", n, strconv.FormatFloat(*f.Rebound, 'f', 2, 64))
}

// measured is the rest of what was measured, for the page of one pull.
func measured(f pull.Pull, u unit.ForceUnit) []fact {
	filter := text("filter.none", about(f.PeakReading, u))
	if f.Filter != "" && f.Filter != "none" {
		filter = text("filter", about(f.PeakReading, u), f.Filter, about(f.PeakFiltered, u))
	}
	out := []fact{
		{text("page.result.lasted"), seconds(float64(f.End-f.Start) / 1e9)},
		{text("page.result.above-half"), seconds(f.AboveHalf)},
		{text("page.result.impulse"), text("impulse", impulse(f.ToPeak, u), unit.ShowWithin(unit.Force(f.Impulse), unit.Force(f.Impulse95), u)+"·s")},
		{text("page.result.readings"), text("rate", words.Number(f.Samples), plainNumber(f.Rate))},
		{text("page.result.peak-as-read"), filter},
		{text("page.result.zero"), text("zero", zeroBeside(f.Zero, f.Noise, u), f.Noise.ShowTwo(u))},
	}
	if f.Damping != nil {
		out = append(out, fact{text("page.result.damping-ratio"), strconv.FormatFloat(*f.Damping, 'f', 2, 64)})
	}
	return out
}

// plainNumber prints a number with three digits, and whole where it is large.
func plainNumber(v float64) string {
	decimals := 0
	if a := math.Abs(v); a > 0 && a < 100 {
		decimals = max(0, 2-int(math.Floor(math.Log10(a))))
	}
	s := strconv.FormatFloat(v, 'f', min(decimals, 6), 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

// impulse prints force times seconds.
func impulse(ns float64, u unit.ForceUnit) string { return about(unit.Force(ns), u) + "·s" }

// terms tells what the interval of the peak is made of, the largest first.
func terms(f pull.Pull, u unit.ForceUnit) []fact {
	ts := slices.Clone(f.Terms)
	slices.SortStableFunc(ts, func(a, b pull.Term) int {
		return int(math.Copysign(1, float64(b.Low+b.High-a.Low-a.High)))
	})
	unknown := f.Unknown()
	var out []fact
	for _, t := range ts {
		said := text("term.range", t.Low.ShowTwo(u), t.High.ShowTwo(u))
		if slices.Contains(unknown, t.Name) {
			said = text("term.out")
		} else if float64(t.Low+t.High) < tooLittle*math.Abs(float64(f.Peak)) {
			said = text("term.little")
		}
		if t.Note != "" {
			said += "; " + t.Note
		}
		out = append(out, fact{pull.TermName(t.Name), said})
	}
	return out
}

func termNames(terms []string) string {
	var names []string
	for _, t := range terms {
		names = append(names, pull.TermName(t))
	}
	return strings.Join(names, ", ")
}

// tooLittle is the part of the peak below which a contribution to its
// interval is not worth a number.
const tooLittle = 2e-4

// zeroBeside prints a zero no finer than the noise of the quiet line is told.
func zeroBeside(zero, noise unit.Force, u unit.ForceUnit) string {
	if noise == 0 {
		return zero.ShowTwo(u)
	}
	last := noise.PlaceTwo(u)
	if math.Abs(zero.In(u)) < float64(last)/2 {
		zero, last = 0, 0
	}
	return zero.Told(u, last)
}
