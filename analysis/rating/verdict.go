package rating

import (
	"slices"

	"tautlog/calc/words"
)

// Verdict is the answer for one item, as files hold it in every language. String
// is what people read.
type Verdict string

// The verdicts, from the best to the worst.
const (
	Inside       Verdict = "inside rating"
	NotJudged    Verdict = "cannot be judged"
	Over         Verdict = "over rating"
	NotRated     Verdict = "not rated for this use"
	OverBreaking Verdict = "over breaking strength"
)

// Verdicts lists all verdicts from the best to the worst.
func Verdicts() []Verdict { return []Verdict{Inside, NotJudged, Over, NotRated, OverBreaking} }

// Rank is the place of the verdict in Verdicts. It panics on a verdict that
// is not one of them, which is a programmer's mistake.
func (v Verdict) Rank() int {
	if i := slices.Index(Verdicts(), v); i >= 0 {
		return i
	}
	panic("rating: unknown verdict " + string(v))
}

// String is the verdict in words, in the language in use.
func (v Verdict) String() string {
	if v == "" {
		return ""
	}
	return words.Say("verdict." + string(v))
}

// Worse says whether v is a worse verdict than w.
func (v Verdict) Worse(w Verdict) bool { return v.Rank() > w.Rank() }

// Shape is the sign that stands beside the verdict, so that it never hangs on
// colour alone.
func (v Verdict) Shape() string { return [...]string{"○", "◌", "▲", "⊗", "■"}[v.Rank()] }
