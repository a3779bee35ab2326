package plan

import (
	"fmt"
	"slices"
	"strings"

	"tautlog/analysis/rating"
	"tautlog/calc/unit"
)

// Text says in sentences how hard the line may pull, with forces in u.
func (l Largest) Text(u unit.ForceUnit) []string {
	var out []string
	if len(l.NotRated) > 0 {
		out = append(out, fmt.Sprintf("No force keeps every item inside its rating: %s not rated for this use, at any force.", isAre(l.NotRated)))
	}
	if !l.Limited() {
		out = append(out, "No limit of any item is known: at what force the first one is reached cannot be told.")
	} else {
		out = append(out, l.first(u))
	}
	return append(out, l.unjudged()...)
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
		out = append(out, fmt.Sprintf("No working limit for this use is known of %s. Another number that is known is kept to in its place, such as a breaking strength or what is stamped.", strings.Join(names(kept), ", ")))
	}
	if len(left) > 0 {
		out = append(out, fmt.Sprintf("Left out, because no limit of any kind is known: %s.", strings.Join(names(left), ", ")))
	}
	return out
}

// first says which item reaches its limit first, and when.
func (l Largest) first(u unit.ForceUnit) string {
	when := ""
	if l.When != "" {
		when = " " + l.When
	}
	return fmt.Sprintf("With more than %s on the line, %s is over its limit first%s: %s.",
		l.Force.Show(u, 0), l.First.Name, when, l.limit(u))
}

// limit says the limit of the item that comes first.
func (l Largest) limit(u unit.ForceUnit) string {
	for _, c := range cases(l.First) {
		if c.When == l.When && c.Limit != nil {
			return c.Limit.Value.Show(u, 0) + ", " + c.Limit.Text
		}
	}
	return ""
}

func isAre(items []rating.Item) string {
	n := names(items)
	if len(n) == 1 {
		return n[0] + " is"
	}
	return strings.Join(n, ", ") + " are"
}
