package rating

import (
	"fmt"
	"strings"
)

// summary says in one or two sentences how the rig fared.
func (w writer) summary(r Result) string {
	at := "at a peak of " + w.force("true peak", r.Peak.Value, r.Peak.Low, r.Peak.High)
	weakest, ok := r.Weakest()
	if !ok {
		return "There is nothing in the rig to judge."
	}
	if r.Verdict == Inside {
		return fmt.Sprintf("%s inside rating %s. Nearest to its limit: %s, %s of its %s.%s",
			countOf(r), at, weakest.Name, percent(*weakest.Utilisation), weakest.Limit.Text, w.above(r))
	}
	return fmt.Sprintf("%s was %s %s. %s", capital(weakest.Name), phrase(weakest.Verdict), at, tally(r)) + w.above(r)
}

// phrase is the verdict as it follows "was" in a sentence.
func phrase(v Verdict) string {
	if v == NotJudged {
		return "not possible to judge"
	}
	return string(v)
}

// countOf counts the items at the head of a sentence: "All 7 items were".
func countOf(r Result) string {
	if len(r.Items) == 1 {
		return "The one item was"
	}
	return fmt.Sprintf("All %d items were", len(r.Items))
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
	return " At the upper end of the interval: " + strings.Join(names, ", ") + "."
}
