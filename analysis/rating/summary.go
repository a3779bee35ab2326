package rating

import (
	"strings"

	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// summary says in a few sentences how the rig fared.
func (w writer) summary(r Result) string {
	weakest, ok := r.Weakest()
	switch {
	case !ok:
		return words.Say("rating.summary.nothing")
	case w.planned:
		return w.outlook(r, weakest)
	}
	at := w.force("rating.truepeak", r.Peak.Value, r.Peak.Low, r.Peak.High, r.Peak.Open)
	if r.Verdict == Inside {
		return joined(words.Count("rating.summary.inside", len(r.Items), at, weakest.Name, unit.Percent(*weakest.Utilisation), weakest.Limit.its()), w.above(r))
	}
	text := "rating.summary"
	if conditional(weakest.Cases, weakest.Verdict, Load.verdict) {
		text = "rating.summary.if"
	}
	return joined(words.Say(text, at, weakest.Name, w.phrase(weakest.Verdict)), tally(r, "rating.tally", Load.verdict), nearest(r, weakest), w.above(r))
}

// nearest names the item that was used most of its limit where no number made
// the weakest the weakest: it is not rated for the use, or cannot be judged.
func nearest(r Result, weakest Item) string {
	it, ok := r.Nearest()
	if !ok || it.Ref == weakest.Ref || weakest.Verdict != NotRated && weakest.Verdict != NotJudged {
		return ""
	}
	return words.Say("rating.summary.nearest", it.Name, unit.Percent(*it.Utilisation), it.Limit.its())
}

// outlook says how the rig would fare in a planned pull: at the upper end,
// which is what to plan with, and then at the likely force.
func (w writer) outlook(r Result, weakest Item) string {
	high := max(r.Peak.Value, r.Peak.High)
	at := high.Show(w.u, 0)
	var say string
	if r.AtHigh == Inside {
		say = words.Count("rating.outlook.inside", len(r.Items), at)
	} else {
		text := "rating.outlook"
		if conditional(weakest.Cases, weakest.AtHigh, Load.verdictAtHigh) {
			text = "rating.outlook.if"
		}
		say = joined(words.Say(text, at, weakest.Name, w.phrase(weakest.AtHigh)), tally(r, "rating.tally", Load.verdictAtHigh))
	}
	if it, ok := r.Nearest(); ok {
		used := it.Factor * float64(high/it.Limit.Value)
		say = joined(say, words.Say("rating.summary.nearest", it.Name, unit.Percent(used), it.Limit.its()))
	}
	if high > r.Peak.Value {
		say = joined(say, words.Say("rating.outlook.likely", r.Peak.Value.Show(w.u, 0), tally(r, "rating.tally.within", Load.verdict)))
	}
	return say
}

// its is the limit as it follows "of its": a part of a WLL is called a limit,
// so that no percentage is of another.
func (l Limit) its() string {
	if l.part {
		return words.Say("rating.limit.its", l.Text)
	}
	return l.Text
}

// phrase is the verdict as it follows the name in a sentence.
func (w writer) phrase(v Verdict) string {
	if w.planned {
		return words.Say("verdict.would." + string(v))
	}
	return words.Say("verdict.was." + string(v))
}

func (l Load) verdict() Verdict       { return l.Verdict }
func (l Load) verdictAtHigh() Verdict { return l.AtHigh }

// conditional says that only the second of two cases gives a verdict.
func conditional(cases []Load, v Verdict, of func(Load) Verdict) bool {
	return len(cases) > 0 && of(cases[0]) != v
}

// tally counts the verdicts, worst first.
func tally(r Result, text string, of func(Load) Verdict) string {
	count := map[Verdict]int{}
	for _, it := range r.Items {
		count[of(it.Load)]++
	}
	var parts []string
	all := Verdicts()
	for i := len(all) - 1; i >= 0; i-- {
		if n := count[all[i]]; n > 0 {
			parts = append(parts, words.Say("rating.tally.each", n, all[i]))
		}
	}
	return words.Count(text, len(r.Items), strings.Join(parts, ", "))
}

// above names what would be worse at the upper end of the interval.
func (w writer) above(r Result) string {
	var names []string
	for _, it := range r.Items {
		if it.AtHigh.Worse(it.Verdict) {
			names = append(names, words.Say("rating.above.each", it.Name, it.AtHigh))
		}
	}
	switch all := strings.Join(names, ", "); {
	case all == "":
		return ""
	case r.Peak.Open:
		return words.Say("rating.above.open", all)
	default:
		return words.Say("rating.above", all)
	}
}
