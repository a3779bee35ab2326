package rating

import (
	"fmt"
	"strings"
)

// summary says in a few sentences how the rig fared.
func (w writer) summary(r Result) string {
	if w.planned {
		return w.outlook(r)
	}
	at := "At a peak of " + w.force("true peak", r.Peak.Value, r.Peak.Low, r.Peak.High, r.Peak.Open)
	weakest, ok := r.Weakest()
	if !ok {
		return "There is nothing in the rig to judge."
	}
	if r.Verdict == Inside {
		return fmt.Sprintf("%s, %s inside rating. Nearest to its limit: %s, %s of its %s.%s",
			at, w.countOf(r), weakest.Name, percent(*weakest.Utilisation), weakest.Limit.its(), w.above(r))
	}
	return fmt.Sprintf("%s, %s %s%s. %s%s%s", at, weakest.Name, w.phrase(weakest.Verdict), w.condition(weakest), tally(r, false), nearest(r), w.above(r))
}

// nearest names the item that was used most of its limit where no number made
// the weakest the weakest: it is not rated for the use, or cannot be judged.
func nearest(r Result) string {
	weakest, _ := r.Weakest()
	it, ok := r.Nearest()
	if !ok || it.Ref == weakest.Ref || weakest.Verdict != NotRated && weakest.Verdict != NotJudged {
		return ""
	}
	return fmt.Sprintf(" Nearest to its limit, or furthest over: %s, %s of its %s.", it.Name, percent(*it.Utilisation), it.Limit.its())
}

// outlook says how the rig would fare in a planned pull: at the upper end,
// which is what to plan with, and then at the likely force.
func (w writer) outlook(r Result) string {
	weakest, ok := r.Weakest()
	if !ok {
		return "There is nothing in the rig to judge."
	}
	high := max(r.Peak.Value, r.Peak.High)
	text := fmt.Sprintf("At %s on the line, ", high.Show(w.u, 0))
	if r.AtHigh == Inside {
		text += w.countOf(r) + " inside rating."
	} else {
		text += fmt.Sprintf("%s %s%s. %s", weakest.Name, w.phrase(weakest.AtHigh), w.condition(weakest), tally(r, true))
	}
	if nearest, ok := r.Nearest(); ok {
		used := nearest.Factor * float64(high/nearest.Limit.Value)
		text += fmt.Sprintf(" Nearest to its limit, or furthest over: %s, %s of its %s.", nearest.Name, percent(used), nearest.Limit.its())
	}
	if high > r.Peak.Value {
		text += fmt.Sprintf(" At the likely %s: %s", r.Peak.Value.Show(w.u, 0), lowerFirst(tally(r, false)))
	}
	return text
}

// its is the limit as it follows "of its": a part of a WLL is called a limit,
// so that no percentage is of another.
func (l Limit) its() string {
	if strings.Contains(l.Text, " % of its ") {
		return "limit (" + l.Text + ")"
	}
	return l.Text
}

// phrase is the verdict as it follows the name in a sentence.
func (w writer) phrase(v Verdict) string {
	if v == NotJudged {
		return string(v)
	}
	return w.either("was ", "would be ") + string(v)
}

// condition says on what a verdict hangs where there are two cases and only
// the second gives it.
func (w writer) condition(it Item) string {
	switch {
	case len(it.Cases) == 0,
		!w.planned && it.Cases[0].Verdict == it.Verdict,
		w.planned && it.Cases[0].AtHigh == it.AtHigh:
		return ""
	}
	return w.either(" if the bridle did not equalise", " if the bridle does not equalise")
}

// countOf counts the items in a sentence: "all 7 items were".
func (w writer) countOf(r Result) string {
	if len(r.Items) == 1 {
		return "the one item " + w.either("was", "would be")
	}
	return fmt.Sprintf("all %d items %s", len(r.Items), w.either("were", "would be"))
}

// tally counts the verdicts, worst first.
func tally(r Result, atHigh bool) string {
	count := map[Verdict]int{}
	for _, it := range r.Items {
		if atHigh {
			count[it.AtHigh]++
		} else {
			count[it.Verdict]++
		}
	}
	var parts []string
	all := Verdicts()
	for i := len(all) - 1; i >= 0; i-- {
		if n := count[all[i]]; n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n, all[i]))
		}
	}
	return fmt.Sprintf("Of %d items: %s.", len(r.Items), strings.Join(parts, ", "))
}

// above names what would be worse at the upper end of the interval.
func (w writer) above(r Result) string {
	var names []string
	for _, it := range r.Items {
		if it.AtHigh.Worse(it.Verdict) {
			names = append(names, fmt.Sprintf("%s %s", it.Name, it.AtHigh))
		}
	}
	if len(names) == 0 {
		return ""
	}
	if r.Peak.Open {
		return " The peak is only a lower bound; at worst: " + strings.Join(names, ", ") + "."
	}
	return " At the upper end of the interval: " + strings.Join(names, ", ") + "."
}
