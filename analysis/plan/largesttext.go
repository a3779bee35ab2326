package plan

import (
	"slices"
	"strings"

	"tautlog/analysis/rating"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Text says in sentences how hard the line may pull, with forces in u.
func (l Largest) Text(u unit.ForceUnit) []string {
	var out []string
	if len(l.NotRated) > 0 {
		out = append(out, words.Say("forecast.notrated."+oneOrMore(l.NotRated), strings.Join(names(l.NotRated), ", ")))
	}
	if !l.Limited() {
		out = append(out, words.Say("forecast.nolimit.any"))
	} else {
		out = append(out, l.first(u))
	}
	return append(out, l.unjudged()...)
}

// oneOrMore chooses between the texts of one item and of several.
func oneOrMore(items []rating.Item) string {
	if len(items) == 1 {
		return "one"
	}
	return "more"
}

// unjudged says what became of the items of which no working limit is known:
// what else is known of one bounds the pull all the same, so that it may even
// be the first at its limit.
func (l Largest) unjudged() (out []string) {
	var kept, left []rating.Item
	for _, it := range l.NotJudged {
		if slices.ContainsFunc(cases(it), func(c rating.Load) bool { return c.Limit != nil }) {
			kept = append(kept, it)
		} else {
			left = append(left, it)
		}
	}
	if len(kept) > 0 {
		out = append(out, words.Say("forecast.nolimit.working", strings.Join(names(kept), ", ")))
	}
	if len(left) > 0 {
		out = append(out, words.Say("forecast.nolimit.leftout", strings.Join(names(left), ", ")))
	}
	return out
}

// first says which item reaches its limit first, and when.
func (l Largest) first(u unit.ForceUnit) string {
	if l.When != "" {
		return words.Say("forecast.first.when", l.Force.Show(u, 0), l.First.Name, l.When, l.limit(u))
	}
	return words.Say("forecast.first", l.Force.Show(u, 0), l.First.Name, l.limit(u))
}

// limit says the limit of the item that comes first.
func (l Largest) limit(u unit.ForceUnit) string {
	for _, c := range cases(l.First) {
		if c.When == l.When && c.Limit != nil {
			return words.Say("forecast.limit", c.Limit.Value.Show(u, 0), c.Limit.Text)
		}
	}
	return ""
}
