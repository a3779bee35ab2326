package plan

import (
	"strings"

	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// walking is the pace below which nobody runs up; common practice, no source.
const walking = unit.Speed(5 / 3.6)

// highestText says the answer in sentences.
func (p *prepared) highestText(h Highest) ([]string, error) {
	l := h.Largest
	var out []string
	if len(l.NotRated) > 0 {
		out = append(out, words.Say("forecast.nospeed."+oneOrMore(l.NotRated), strings.Join(names(l.NotRated), ", ")))
	}
	if !l.Limited() {
		return append(out, words.Say("forecast.nolimit.unjudged", strings.Join(names(l.NotJudged), ", "))), nil
	}
	out = append(out, p.reachedText("expected", h.Expected, l))
	if h.Upper != nil {
		out = append(out, p.reachedText("upper", *h.Upper, l))
	}
	out = append(out, p.basisText(h)...)
	extrapolated, err := p.extrapolated(h)
	if err != nil {
		return nil, err
	}
	out = append(out, extrapolated...)
	return append(out, l.unjudged()...), nil
}

// reachedText says when a peak ("expected", or its "upper" bound) gets to the
// limit of the item that comes first.
func (p *prepared) reachedText(peak string, r Reached, l Largest) string {
	item := l.First.Name
	if l.When != "" {
		item = words.Say("forecast.item.when", item, l.When)
	}
	name, limit := "forecast.reached."+peak, l.Force.Show(p.k.Unit, 0)
	switch {
	case r.Already:
		return words.Say(name+".already", item, limit)
	case r.Never:
		return words.Say(name+".never", item, limit, r.Speed)
	case r.Speed < walking:
		return words.Say(name+".slow", item, limit, r.Speed)
	}
	return words.Say(name+".at", item, limit, r.Speed)
}

// basisText says where the upper bound is from.
func (p *prepared) basisText(h Highest) []string {
	label := p.k.With.Label()
	switch h.Basis {
	case FromFit:
		return []string{words.Say("forecast.by-fit", label)}
	case FromClass:
		return []string{
			words.Say("forecast.model.scaled",
				label, p.multiplier.Upper / *p.multiplier.Median, p.class()),
			words.Say("forecast.expected.planning-peak"),
		}
	}
	out := []string{words.Say("forecast.expected.assumed")}
	if h.Assumed != nil {
		over := "within"
		if *h.Assumed > h.Largest.Force {
			over = "above"
		}
		out = append(out, words.Say("forecast.assumed."+over, h.Assumed.Show(p.k.Unit, 0)))
	}
	return out
}

// extrapolated says which answers lie outside of the speeds of the logged
// pulls.
func (p *prepared) extrapolated(h Highest) ([]string, error) {
	var out []string
	for _, r := range []*Reached{&h.Expected, h.Upper} {
		if r == nil || r.Already {
			continue
		}
		m, err := p.model(r.Speed)
		if err != nil {
			return nil, err
		}
		if s := p.beyond(m.taut); s != "" {
			out = append(out, s)
		}
	}
	return out, nil
}
