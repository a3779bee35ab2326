package report

import (
	"fmt"
	"slices"
	"strings"

	"tautlog/analysis/pull"
	"tautlog/analysis/shock"
	"tautlog/calc/words"
)

// uncertainty states what the intervals mean, and the budget of the largest
// pull.
func (b *builder) uncertainty() {
	b.head(words.Say("report.sure"))
	b.say(words.Say("report.sure.interval"))
	if len(b.Pulls) == 0 {
		return
	}
	p := b.Pulls[b.largest()]
	b.say(words.Say("report.sure.terms", p.name()))
	t := Table{Head: []string{words.Say("report.term.name"), words.Say("report.term.below"), words.Say("report.term.above"), words.Say("report.term.how")}, Widths: []float64{0.16, 0.14, 0.14, 0.56}}
	left := p.Found.Unknown()
	for _, term := range p.Found.Terms {
		low, high := term.Low.ShowTwo(b.Unit), term.High.ShowTwo(b.Unit)
		if slices.Contains(left, term.Name) { // no zero: that would be taken for an exact cell
			low, high = words.Say("report.sure.unknown"), words.Say("report.sure.unknown")
		}
		t.Rows = append(t.Rows, []string{pull.TermName(term.Name), low, high, term.Note})
	}
	b.add(t)
	if len(left) > 0 {
		for i, name := range left {
			left[i] = pull.TermName(name)
		}
		b.say(words.Say("report.sure.leftout", strings.Join(left, ", ")))
	}
}

// multipliers compares what is planned with and what the log says without and
// with these pulls.
func (b *builder) multipliers() {
	b.head(words.Say("report.multipliers"))
	b.say(words.Say("report.multipliers.what", b.InUse.Label()))
	if n := b.Log.Waiting; n > 0 {
		b.say(words.Count("report.waiting", n))
	}
	t := Table{Head: []string{words.Say("report.class.name"), words.Say("report.class.planned"), words.Say("report.class.without"), words.Say("report.class.with")}, Widths: []float64{0.28, 0.16, 0.28, 0.28}}
	var told []shock.Class
	for _, p := range b.Pulls {
		c := p.Logged.Class
		if slices.Contains(told, c) {
			continue
		}
		told = append(told, c)
		use := words.Say("report.class.nothing")
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
		return words.Say("report.class.waiting")
	}
	for _, k := range fits {
		if k.Class != c {
			continue
		}
		bound := words.Say("report.class.nobound")
		if k.Upper != nil {
			bound = words.Say("report.class.bound", *k.Upper)
		}
		return words.Say("report.class.says", k.Median, bound, words.Count("report.class.pulls", k.Pulls), words.Count("report.class.days", k.Days))
	}
	return words.Say("report.class.nopull")
}
