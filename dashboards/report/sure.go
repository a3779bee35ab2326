package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"tautlog/analysis/shock"
	"tautlog/calc/unit"
)

// uncertainty states what the intervals mean, and the budget of the largest
// pull.
func (b *builder) uncertainty() {
	b.head("How sure the numbers are")
	b.say("The interval behind a peak holds the true peak in 95 of 100 such pulls. A verdict is on the peak as measured; where the upper end of the interval would change it, that is said beside it.")
	if len(b.Pulls) == 0 {
		return
	}
	p := b.Pulls[b.largest()]
	b.say("The interval of the largest peak, %s, is made of these. Each alone would move the limits so far:", p.Name)
	t := Table{Head: []string{"Term", "Below", "Above", "How it was found"}, Widths: []float64{0.16, 0.14, 0.14, 0.56}}
	for _, term := range p.Found.Terms {
		t.Rows = append(t.Rows, []string{term.Name, small(term.Low, b.Unit), small(term.High, b.Unit), term.Note})
	}
	b.add(t)
	if left := p.Found.Unknown(); len(left) > 0 {
		b.say("Left out, because nothing is known of it: %s.", strings.Join(left, ", "))
	}
}

// small prints a contribution with two digits.
func small(f unit.Force, u unit.ForceUnit) string {
	if f == 0 {
		return "0 " + string(u)
	}
	return f.Show(u, unit.Force(math.Pow(10, math.Floor(math.Log10(math.Abs(float64(f))))-1)))
}

// multipliers compares what is planned with and what the log says without and
// with these pulls.
func (b *builder) multipliers() {
	b.head("Multipliers")
	b.say("Planned with: %s. Below, what the log says without the pulls of this report and with them: the median, and the bound that 95 in 100 such pulls stay below, with 95 %% confidence. They are times the %s, as a rule the stuck vehicle's. This report changes no set.", b.InUse.Label(), shock.MultiplierOf)
	if n := b.Log.Waiting; n > 0 {
		b.say("What the log says is being worked out, from %d pulls. Make this report again in a minute to have it here.", n)
	}
	t := Table{Head: []string{"Kind, ground, strap", "Planned with", "Log without", "Log with"}, Widths: []float64{0.28, 0.16, 0.28, 0.28}}
	var told []shock.Class
	for _, p := range b.Pulls {
		c := p.Logged.Class
		if slices.Contains(told, c) {
			continue
		}
		told = append(told, c)
		use := "nothing for this class"
		if m, ok := b.InUse.Multiplier(c); ok {
			use = fmt.Sprintf("%.2f", m.Upper)
		}
		t.Rows = append(t.Rows, []string{c.String(), use, b.logSays(b.Log.Without, c), b.logSays(b.Log.With, c)})
	}
	if len(t.Rows) > 0 {
		b.add(t)
	}
}

// logSays tells of one class.
func (b *builder) logSays(fits []shock.ClassFit, c shock.Class) string {
	if b.Log.Waiting > 0 {
		return "being worked out"
	}
	for _, k := range fits {
		if k.Class != c {
			continue
		}
		bound := "no bound"
		if k.Upper != nil {
			bound = fmt.Sprintf("bound %.2f", *k.Upper)
		}
		return fmt.Sprintf("median %.2f, %s (pulls: %d, days: %d)", k.Median, bound, k.Pulls, k.Days)
	}
	return "no such pull"
}
