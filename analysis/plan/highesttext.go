package plan

import (
	"fmt"
	"strings"

	"tautlog/calc/unit"
)

// walking is the pace below which nobody runs up; common practice, no source.
const walking = unit.Speed(5 / 3.6)

// highestText says the answer in sentences.
func (p *prepared) highestText(h Highest) ([]string, error) {
	l := h.Largest
	var out []string
	if len(l.NotRated) > 0 {
		out = append(out, fmt.Sprintf("No speed keeps every item inside its rating: %s not rated for this use.", isAre(l.NotRated)))
	}
	if !l.Limited() {
		return append(out, fmt.Sprintf("It cannot be judged: no limit is known of %s.", strings.Join(names(l.NotJudged), ", "))), nil
	}
	out = append(out, p.reachedText("The expected peak", h.Expected, l))
	if h.Upper != nil {
		out = append(out, p.reachedText("The upper bound of the peak", *h.Upper, l))
	}
	out = append(out, p.basisText(h)...)
	extrapolated, err := p.extrapolated(h)
	if err != nil {
		return nil, err
	}
	out = append(out, extrapolated...)
	return append(out, l.unjudged()...), nil
}

// reachedText says when a peak gets to the limit of the item that comes first.
func (p *prepared) reachedText(what string, r Reached, l Largest) string {
	item := l.First.Name
	if l.When != "" {
		item += " " + l.When
	}
	limit := fmt.Sprintf("the limit of %s, %s on the line", item, l.Force.Show(p.k.Unit, 0))
	switch {
	case r.Already:
		return fmt.Sprintf("%s is above %s, even from standstill.", what, limit)
	case r.Never:
		return fmt.Sprintf("%s stays below %s, up to %v; no limit was found up to there.", what, limit, r.Speed)
	case r.Speed < walking:
		return fmt.Sprintf("%s reaches %s, at %v already: below walking pace.", what, limit, r.Speed)
	}
	return fmt.Sprintf("%s reaches %s, at %v.", what, limit, r.Speed)
}

// basisText says where the upper bound is from.
func (p *prepared) basisText(h Highest) []string {
	label := p.k.With.Label()
	switch h.Basis {
	case FromFit:
		return []string{fmt.Sprintf("Both are by the fit by speed of the set %s; the bound is never below the model.", label)}
	case FromClass:
		return []string{
			fmt.Sprintf("The pulls of the set %s do not tell what speed does with this strap on this ground, so the model has to: for the upper bound its peak is taken %.2f times, which is how far the bound of %s lies above its median.",
				label, p.multiplier.Upper / *p.multiplier.Median, p.class()),
			"The peak to plan with is another number: the bound of those pulls, the same at every speed. If it is over the limit already, that counts, whatever speed stands here.",
		}
	}
	out := []string{"The expected peak is that of the model. Of an assumed multiplier no uncertainty is known, so there is no upper bound by speed."}
	if h.Assumed != nil {
		over := "is within"
		if *h.Assumed > h.Largest.Force {
			over = "is above"
		}
		out = append(out, fmt.Sprintf("By the assumption alone the peak is %s at any speed, which %s the first limit.", h.Assumed.Show(p.k.Unit, 0), over))
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
