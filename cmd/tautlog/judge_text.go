package main

import (
	"bufio"
	"fmt"
	"io"
	"regexp"
	"strings"
	"unicode/utf8"

	"tautlog/analysis/pull"
	"tautlog/analysis/rating"
	"tautlog/calc/gear"
	"tautlog/calc/unit"
)

// writeText writes the judgement for a terminal: plain text, no colour, lines
// that fit 80 columns.
func (j *judgement) writeText(w io.Writer) error {
	out := &lines{w: bufio.NewWriter(w)}
	title := j.rig.Name
	if title == "" {
		title = "Rig"
	}
	out.say(0, "%s: %s pulls %s. %s.", title, j.rig.Pulling.Name, j.rig.Stuck.Name, countPulls(len(j.found.Pulls)))
	if j.unit == unit.TonneF {
		out.say(0, "t is tonne-force.")
	}
	out.misfits(j.misfit)
	for i, p := range j.found.Pulls {
		out.gap()
		out.pull(i+1, float64(p.Start-j.found.First)/1e9, p, j.results[i])
	}
	out.gap()
	out.say(0, "To know:")
	if left := leftOut(j.found.Pulls); left != "" {
		out.say(2, "%s", left)
	}
	for _, r := range j.remarks {
		out.say(2, "%s", r)
	}
	return out.end()
}

func countPulls(n int) string {
	switch n {
	case 0:
		return "No pull found"
	case 1:
		return "1 pull found"
	}
	return fmt.Sprintf("%d pulls found", n)
}

// numberUnit is a number and what belongs to it: a unit, or the other end of
// a range.
var numberUnit = regexp.MustCompile(`(\d) (%|to\b|(?:kN|N|t|kgf|lbf|m|F)\b)`)

// lines writes wrapped lines. Errors of the writer stay until Flush.
type lines struct{ w *bufio.Writer }

func (l *lines) gap() { fmt.Fprintln(l.w) }

// end closes a text that holds a load: with the cautions.
func (l *lines) end() error {
	l.gap()
	l.say(0, "Cautions:")
	for _, c := range rating.Cautions() {
		l.say(2, "%s", c.Short)
	}
	return l.w.Flush()
}

// say writes a sentence, wrapped, each line after indent spaces. A number
// stays with its unit.
func (l *lines) say(indent int, format string, args ...any) {
	const width, noBreak = 80, "\u00a0"
	text := numberUnit.ReplaceAllString(fmt.Sprintf(format, args...), "$1"+noBreak+"$2")
	text = strings.ReplaceAll(text, noBreak+"to ", noBreak+"to"+noBreak)
	space := strings.Repeat(" ", indent)
	line := ""
	flush := func() { fmt.Fprintln(l.w, space+strings.ReplaceAll(line, noBreak, " ")) }
	for word := range strings.SplitSeq(text, " ") {
		if line != "" && indent+utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > width {
			flush()
			line = ""
		}
		if line != "" {
			line += " "
		}
		line += word
	}
	flush()
}

// pull writes one pull: when and what, the summary, then every item.
func (l *lines) pull(n int, start float64, p pull.Pull, res rating.Result) {
	l.say(0, "Pull %d, %s, at %.1f s.", n, p.Kind, start)
	l.say(2, "%s", res.Summary)
	for _, r := range p.Remarks {
		l.say(2, "%s", r)
	}
	for _, it := range res.Items {
		l.item(it, it.Verdict)
	}
}

// item writes one item under a verdict, with the reason.
func (l *lines) item(it rating.Item, v rating.Verdict) {
	l.gap()
	l.say(2, "%s %s: %s, %s", v.Shape(), v, it.Name, it.Where)
	l.say(4, "%s", it.Reason)
	l.assumed(it.Mounting)
	if it.Share.Formula != "F" || len(it.Cases) > 0 || len(it.Share.Cells) > 1 {
		l.say(4, "Share: %s.", it.Share.Sentence)
	}
}

// assumed says what the estimate of a mounting took for what is not known,
// and what it left out.
func (l *lines) assumed(m *rating.Mounting) {
	if m == nil || m.Estimate.Limit == 0 {
		return
	}
	if len(m.Estimate.Assumed) > 0 {
		l.say(4, "The estimate assumes: %s.", strings.Join(m.Estimate.Assumed, "; "))
	}
	if len(m.Estimate.Missing) > 0 {
		l.say(4, "Not estimated: %s.", strings.Join(m.Estimate.Missing, "; "))
	}
	l.say(4, "Source: %s.", gear.EstimateSource())
}

// misfits writes what does not fit in the rig, the heaviest first.
func (l *lines) misfits(ms []rating.Mismatch) {
	if len(ms) == 0 {
		return
	}
	l.gap()
	l.say(0, "What does not fit, before any pull:")
	for _, m := range ms {
		l.say(2, "%s: %s (%s)", m.Severity, m.Text, m.Source)
	}
}
