package rating

import (
	"fmt"
	"strings"
)

// summary says in a few sentences how the rig fared.
func (w writer) summary(r Result) string {
	at := "At a peak of " + w.force("true peak", r.Peak.Value, r.Peak.Low, r.Peak.High, r.Peak.Open)
	weakest, ok := r.Weakest()
	if !ok {
		return "There is nothing in the rig to judge."
	}
	if r.Verdict == Inside {
		return fmt.Sprintf("%s, %s inside rating. Nearest to its limit: %s, %s of its %s.%s",
			at, countOf(r), weakest.Name, percent(*weakest.Utilisation), weakest.Limit.Text, w.above(r))
	}
	return fmt.Sprintf("%s, %s %s%s. %s%s", at, weakest.Name, phrase(weakest.Verdict), condition(weakest), tally(r), w.above(r))
}

// phrase is the verdict as it follows the name in a sentence.
func phrase(v Verdict) string {
	if v == NotJudged {
		return string(v)
	}
	return "was " + string(v)
}

// condition says on what a verdict hangs where there are two cases and only
// the second gives it.
func condition(it Item) string {
	if len(it.Cases) == 0 || it.Cases[0].Verdict == it.Verdict {
		return ""
	}
	return " if the bridle did not equalise"
}

// countOf counts the items in a sentence: "all 7 items were".
func countOf(r Result) string {
	if len(r.Items) == 1 {
		return "the one item was"
	}
	return fmt.Sprintf("all %d items were", len(r.Items))
}

// tally counts the verdicts, worst first.
func tally(r Result) string {
	count := map[Verdict]int{}
	for _, it := range r.Items {
		count[it.Verdict]++
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
