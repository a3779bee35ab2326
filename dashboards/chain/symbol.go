package chain

import (
	"fmt"
	"html/template"

	"tautlog/analysis/rating"
)

// Symbol is the shape that goes with a verdict's words, as an SVG of its own:
// open circle, filled triangle, filled square, crossed circle, dotted circle.
// It is an ornament: the words stand beside it.
func Symbol(v rating.Verdict) template.HTML {
	return template.HTML(`<svg viewBox="0 0 24 24" aria-hidden="true">` + symbol(v, 12, 12, 9) + `</svg>`) //nolint:gosec // numbers only
}

func symbol(v rating.Verdict, x, y, r float64) string {
	circle := func(more string) string {
		return fmt.Sprintf(`<circle cx="%s" cy="%s" r="%s" fill="none" stroke="currentColor" stroke-width="%s"%s/>`,
			num1(x), num1(y), num1(r), num1(max(r*0.25, 1.5)), more)
	}
	switch v {
	case rating.Inside:
		return circle("")
	case rating.Over:
		return fmt.Sprintf(`<path d="%s" fill="currentColor"/>`, tidy(fmt.Sprintf("M%s %sL%s %sH%sZ", num(x), num(y-1.15*r), num(x+1.15*r), num(y+0.9*r), num(x-1.15*r))))
	case rating.OverBreaking:
		return fmt.Sprintf(`<rect x="%s" y="%s" width="%s" height="%[3]s" fill="currentColor"/>`, num1(x-r), num1(y-r), num1(2*r))
	case rating.NotRated:
		d := r * 0.7
		return circle("") + fmt.Sprintf(`<path d="%s" fill="none" stroke="currentColor" stroke-width="%s"/>`,
			tidy(line(x-d, y-d, x+d, y+d)+line(x-d, y+d, x+d, y-d)), num1(max(r*0.25, 1.5)))
	case rating.NotJudged:
		return circle(fmt.Sprintf(` stroke-dasharray="%s %s" stroke-linecap="round"`, num1(r*0.05), num1(r*0.55)))
	}
	return ""
}
