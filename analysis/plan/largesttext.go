package plan

import (
	"fmt"
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
	if len(l.NotJudged) > 0 {
		out = append(out, fmt.Sprintf("Left out of this, because no working limit is known for this use: %s. "+
			"Other numbers that are known of them, such as a breaking strength, are kept to.", strings.Join(names(l.NotJudged), ", ")))
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
