package rating

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"tautlog/calc/gear"
	"tautlog/calc/unit"
)

// writer writes the sentences in the unit that was chosen.
type writer struct {
	u       unit.ForceUnit
	planned bool
}

// either chooses the words for a pull that was made or for one that is planned.
func (w writer) either(made, planned string) string {
	if w.planned {
		return planned
	}
	return made
}

// force prints a load with its interval in words.
func (w writer) force(what string, f, low, high unit.Force, open bool) string {
	switch {
	case open:
		return f.Show(w.u, 0) + " or more"
	case low == 0 && high == 0 || low == high || w.planned:
		return f.Show(w.u, 0)
	}
	return unit.ShowInterval(what, f, low, high, w.u)
}

// percent prints a utilisation, with a decimal where rounding would hide on
// which side of 100 % it lies.
func percent(v float64) string {
	if v >= 0.995 && v < 1.005 && v != 1 {
		return fmt.Sprintf("%.1f %%", 100*v)
	}
	return fmt.Sprintf("%.0f %%", 100*v)
}

// limitText says what a limit is.
func limitText(b gear.Bound, working bool) string {
	var text string
	switch r := b.Rating; {
	case r.Basis == gear.MBS && working && r.FactorFrom != gear.FactorUnstated:
		text = fmt.Sprintf("MBS over the %s's design factor %g", r.FactorFrom, *r.DesignFactor)
	case r.Basis == gear.MBS && working:
		text = fmt.Sprintf("MBS over the design factor %g", *r.DesignFactor)
	case r.Basis == gear.Unknown:
		text = "stamped number, basis unknown"
	case r.Basis == gear.TookASet:
		text = "the proof pull that left it bent"
	default:
		text = string(r.Basis)
	}
	if b.Fraction != 1 {
		text = fmt.Sprintf("%s of its %s, side loaded", percent(b.Fraction), text)
	}
	if b.Halved {
		text = "half the pair's " + text
	}
	return text
}

// reason is the sentence on one case.
func (w writer) reason(p Peak, g gear.Item, s gear.Situation, l Load) string {
	carried := w.either("It carried ", "It would carry ") + p.atMost() + w.force("true load", l.Carried, l.Low, l.High, l.Open)
	st := g.Strength(s)
	switch l.Verdict {
	case OverBreaking:
		return fmt.Sprintf("%s, %s of its %s breaking strength.", carried, percent(*l.OfMBS), st.Breaking.Value.Show(w.u, 0)) + w.atHigh(l)
	case NotRated:
		return w.notRated(p, g, st) + " " + carried + "." + w.atHigh(l)
	case NotJudged:
		return w.notJudged(carried, st, l) + w.atHigh(l)
	}
	return carried + ", " + w.ofLimit(l) + w.ofMBS(l) + "." + w.atHigh(l)
}

// ofLimit says how much of the limit was used.
func (w writer) ofLimit(l Load) string {
	value := l.Limit.Value.Show(w.u, 0)
	if l.Limit.Text == string(gear.WLL) {
		return fmt.Sprintf("%s of its %s WLL", percent(*l.Utilisation), value)
	}
	return fmt.Sprintf("%s of its limit of %s (%s)", percent(*l.Utilisation), value, l.Limit.Text)
}

// ofMBS adds the share of the breaking strength where both are known.
func (w writer) ofMBS(l Load) string {
	if l.OfMBS == nil {
		return ""
	}
	return fmt.Sprintf(" and %s of its breaking strength", percent(*l.OfMBS))
}

// atHigh says what the upper end of the interval would mean.
func (w writer) atHigh(l Load) string {
	if w.planned {
		return w.upTo(l)
	}
	if !l.AtHigh.Worse(l.Verdict) {
		return ""
	}
	if l.Open {
		return fmt.Sprintf(" It may have been %s.", l.AtHigh)
	}
	return fmt.Sprintf(" At the upper end of the interval, %s, it was %s.", l.High.Show(w.u, 0), l.AtHigh)
}

// upTo says what the upper end of a planned load would mean.
func (w writer) upTo(l Load) string {
	if !(l.High > l.Carried) {
		return ""
	}
	text := " At the upper end it would carry " + l.High.Show(w.u, 0)
	if l.Limit != nil {
		of := "limit"
		if l.Verdict == NotJudged {
			of = l.Limit.its()
		}
		text += fmt.Sprintf(", %s of its %s", percent(float64(l.High/l.Limit.Value)), of)
	}
	if l.AtHigh.Worse(l.Verdict) {
		text += fmt.Sprintf(", and be %s", l.AtHigh)
	}
	return text + "."
}

func (w writer) notRated(p Peak, g gear.Item, st gear.Strength) string {
	if why := unfit(g.Kind, p.Kind); why != "" {
		return capital(article(g.Kind) + " " + why + ".")
	}
	return capital(st.Refused[0] + ".")
}

func (w writer) notJudged(carried string, st gear.Strength, l Load) string {
	switch {
	case st.Working != nil && st.Working.Sure && l.Open:
		return fmt.Sprintf("%s, %s; the largest reading is only a lower bound.", carried, w.ofLimit(l))
	case st.Working != nil:
		return fmt.Sprintf("%s, %s, but %s.", carried, w.ofLimit(l), st.Working.Why)
	case st.Ceiling != nil && st.Ceiling.Rating.Basis == gear.Estimated:
		return fmt.Sprintf("%s, %s of an indicative estimate of %s; no rating of it is known.", carried, percent(*l.Utilisation), st.Ceiling.Value.Show(w.u, 0))
	case st.Ceiling != nil && st.Ceiling.Rating.Basis == gear.TookASet:
		return fmt.Sprintf("%s, %s of the %s that left it bent; no rating of it is known.", carried, percent(*l.Utilisation), st.Ceiling.Value.Show(w.u, 0))
	case st.Ceiling != nil && st.Ceiling.Rating.Basis == gear.Proof:
		return fmt.Sprintf("%s, %s of its %s proof load; a proof load is no working limit, and none is known.",
			carried, percent(*l.Utilisation), st.Ceiling.Value.Show(w.u, 0))
	case st.Ceiling != nil:
		return fmt.Sprintf("%s, %s of the %s stamped on it; the stamp does not say whether that is a WLL or a breaking strength.",
			carried, percent(*l.Utilisation), st.Ceiling.Value.Show(w.u, 0))
	case st.Breaking != nil:
		return fmt.Sprintf("%s, %s of its %s breaking strength; without a design factor it has no working limit.",
			carried, percent(*l.OfMBS), st.Breaking.Value.Show(w.u, 0))
	}
	return carried + "; no rating of it is known."
}

// cases is the sentence on an item in a bridle that may not share.
func (w writer) cases(p Peak, g gear.Item, s gear.Situation, it Item) string {
	equal, other := it.Cases[0], it.Cases[1]
	first := w.reason(p, g, s, equal)
	if !other.Known {
		return first + " That holds only if the legs of the cell's bridle shared: there is no equaliser, so its load is not known."
	}
	s.Paired = false
	second := w.reason(p, g, s, other)
	switch {
	case equal.Verdict == NotRated && other.Verdict == NotRated:
		return first
	case equal.Verdict == other.Verdict && !equal.AtHigh.Worse(other.AtHigh):
		return fmt.Sprintf("%s That is if this leg %s all, for there is no equaliser.", second, w.either("took", "takes"))
	}
	return fmt.Sprintf("%s if the bridle %s equalise: %s If the legs %s: %s",
		capital(string(other.Verdict)), w.either("did not", "does not"), lowerFirst(second),
		w.either("shared", "share")+", it "+w.phrase(equal.Verdict), lowerFirst(first))
}

func article(k gear.Kind) string {
	if strings.ContainsRune("aeiou", rune(k[0])) {
		return "an " + string(k)
	}
	return "a " + string(k)
}

func capital(s string) string    { return first(s, unicode.ToUpper) }
func lowerFirst(s string) string { return first(s, unicode.ToLower) }

// first changes the first letter.
func first(s string, change func(rune) rune) string {
	r, n := utf8.DecodeRuneInString(s)
	return string(change(r)) + s[n:]
}
