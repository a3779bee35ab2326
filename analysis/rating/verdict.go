package rating

// Verdict is the answer for one item, in the words in which it is shown.
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
	for i, w := range Verdicts() {
		if v == w {
			return i
		}
	}
	panic("rating: unknown verdict " + string(v))
}

// Worse says whether v is a worse verdict than w.
func (v Verdict) Worse(w Verdict) bool { return v.Rank() > w.Rank() }

// Shape is the sign that stands beside the verdict, so that it never hangs on
// colour alone.
func (v Verdict) Shape() string { return [...]string{"○", "◌", "▲", "⊗", "■"}[v.Rank()] }
