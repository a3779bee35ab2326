package plan

import (
	"math"
	"slices"

	"tautlog/analysis/pull"
	"tautlog/analysis/rating"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
)

// Largest is how hard the line may pull before the first item of a rig reaches
// a limit.
type Largest struct {
	// Force is the largest pull of the line at which no item is above a limit
	// that is known of it. It is +Inf where no item has one.
	Force unit.Force
	// First is the item that reaches its limit at Force; When says in which
	// case, where the legs of a bridle may not share. Both are empty where no
	// item has a limit.
	First rating.Item
	When  string
	// NotRated are the items that are not rated for this use at any force, so
	// that no force keeps every item inside its rating.
	NotRated []rating.Item
	// NotJudged are the items of which no working limit is known for this use.
	// They are never inside rating; where another number is known of them, such
	// as a breaking strength, Force stays below that all the same.
	NotJudged []rating.Item
}

// Limited says whether any item has a limit.
func (l Largest) Limited() bool { return !math.IsInf(float64(l.Force), 1) }

// AllInside says whether there is a force that keeps every item inside its
// rating: all of them are rated for this use, with a limit that is known.
func (l Largest) AllInside() bool {
	return l.Limited() && len(l.NotRated) == 0 && len(l.NotJudged) == 0
}

// LargestPull finds how hard the line may pull in a pull of the kind, at the
// place at of the rig or as it is hauled (see rig.LinePlaces). It follows from
// shares and limits alone, and is exact: at that force the item that comes
// first is used 100 % of its limit. The kind may be empty: then no gear is
// refused for the kind of pull. It is an error where the rig cannot be solved.
func LargestPull(r rig.Rig, at string, kind pull.Kind, u unit.ForceUnit) (Largest, error) {
	// With nothing on the line, an item is worse than inside its rating only for
	// what does not depend on the force.
	slack, err := rating.JudgePlanned(rating.Peak{Kind: kind}, r, at, u)
	if err != nil {
		return Largest{}, err
	}
	l := Largest{Force: unit.Force(math.Inf(1))}
	for _, it := range slack.Items {
		switch it.Verdict {
		case rating.NotRated:
			l.NotRated = append(l.NotRated, it)
		case rating.NotJudged:
			l.NotJudged = append(l.NotJudged, it)
		}
		for _, c := range cases(it) {
			if f := reaches(c); f < l.Force {
				l.Force, l.First, l.When = f, it, c.When
			}
		}
	}
	return l, nil
}

// cases are the cases in which an item may be loaded.
func cases(it rating.Item) []rating.Load {
	if len(it.Cases) > 0 {
		return it.Cases
	}
	return []rating.Load{it.Load}
}

// reaches is the pull of the line at which the load reaches its limit and is
// not above it, to the last bit.
func reaches(c rating.Load) unit.Force {
	if c.Limit == nil || c.Factor <= 0 {
		return unit.Force(math.Inf(1))
	}
	f := float64(c.Limit.Value) / c.Factor
	for f > 0 && c.Factor*f > float64(c.Limit.Value) {
		f = math.Nextafter(f, 0)
	}
	return unit.Force(f)
}

// names lists the names of items, each once.
func names(items []rating.Item) []string {
	out := []string{}
	for _, it := range items {
		if !slices.Contains(out, it.Name) {
			out = append(out, it.Name)
		}
	}
	return out
}
