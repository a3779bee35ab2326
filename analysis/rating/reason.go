package rating

import (
	"unicode"
	"unicode/utf8"

	"tautlog/calc/gear"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// writer writes the sentences in the unit that was chosen.
type writer struct {
	u       unit.ForceUnit
	planned bool
	within  bool // a sentence goes on after a colon
	// last is how far a load and its limit are told, so that what is over does
	// not read as equal; 0: no further than usual.
	last unit.Place
}

// either chooses the text for a pull that was made or for one that is planned.
func (w writer) either(made, planned string) string {
	if w.planned {
		return planned
	}
	return made
}

// force prints a load with its interval in words; what is a text.
func (w writer) force(what string, f, low, high unit.Force, open bool) string {
	switch {
	case open:
		return words.Say("rating.ormore", w.show(f))
	case low == high || w.planned:
		return w.show(f)
	}
	value, interval := unit.IntervalParts(words.Say(what), f, low, high, w.place(f, low, high), w.u)
	return words.Say("unit.between", value, interval)
}

// show prints a force as far as it has to be told.
func (w writer) show(f unit.Force) string { return f.Told(w.u, w.last) }

// place is the last digit of a load with its interval.
func (w writer) place(f, low, high unit.Force) unit.Place {
	if w.last != 0 {
		return w.last
	}
	return unit.IntervalPlace(f, low, high, w.u)
}

// beside is the writer of a sentence in which a load stands beside the number
// that it is held against.
func (w writer) beside(st gear.Strength, l Load) writer {
	var limit unit.Force
	switch {
	case st.Breaking != nil && (l.Verdict == OverBreaking || l.Limit == nil):
		limit = st.Breaking.Value
	case l.Limit != nil:
		limit = l.Limit.Value
	default:
		return w
	}
	loads := []unit.Load{{Value: l.Carried}}
	switch {
	case w.planned:
		loads = append(loads, unit.Load{Value: l.High})
	case !l.Open:
		loads[0].Low, loads[0].High = l.Low, l.High
	}
	w.last = unit.Apart(limit, w.u, loads...)
	return w
}

// joined puts sentences one after the other; an empty one is none.
func joined(first string, more ...string) string {
	for _, s := range more {
		if s != "" {
			first += " " + s
		}
	}
	return first
}

// limitText says what a limit is.
func limitText(b gear.Bound, working bool) string {
	var say string
	switch r := b.Rating; {
	case r.Basis == gear.MBS && working && r.FactorFrom == gear.FactorOwner:
		say = words.Say("rating.limit.mbs.owner", *r.DesignFactor)
	case r.Basis == gear.MBS && working && r.FactorFrom == gear.FactorMaker:
		say = words.Say("rating.limit.mbs.maker", *r.DesignFactor)
	case r.Basis == gear.MBS && working:
		say = words.Say("rating.limit.mbs", *r.DesignFactor)
	case r.Basis == gear.Unknown:
		say = words.Say("rating.limit.stamp")
	case r.Basis == gear.TookASet:
		say = words.Say("rating.limit.bent")
	default:
		say = r.Basis.Words()
	}
	if b.Fraction != 1 {
		say = words.Say("rating.limit.side", unit.Percent(b.Fraction), say)
	}
	if b.Halved {
		say = words.Say("rating.limit.half", say)
	}
	return say
}

// reason is the sentence on one case.
func (w writer) reason(p Peak, g gear.Item, s gear.Situation, l Load) string {
	st := g.Strength(s)
	w = w.beside(st, l)
	carried := w.carried(p, l)
	switch {
	case l.Verdict == OverBreaking:
		carried = words.Say("rating.overbreaking", carried, unit.Percent(*l.OfMBS), w.show(st.Breaking.Value))
	case l.Verdict == NotRated:
		why := w.notRated(p, g, st)
		w.within = false
		carried = words.Say("rating.notrated", why, w.carried(p, l))
	case l.Verdict == NotJudged:
		carried = w.notJudged(carried, st, l)
	case l.OfMBS != nil:
		carried = words.Say("rating.judged.mbs", carried, w.ofLimit(l), unit.Percent(*l.OfMBS))
	default:
		carried = words.Say("rating.judged", carried, w.ofLimit(l))
	}
	return joined(carried, w.atHigh(l))
}

// carried says what an item carried, as a sentence that goes on.
func (w writer) carried(p Peak, l Load) string {
	text := w.either("rating.carried", "rating.carried.planned")
	switch {
	case w.within && p.most:
		text = "rating.carried.most.within"
	case p.most:
		text = "rating.carried.most"
	case w.within:
		text = w.either("rating.carried.within", "rating.carried.planned.within")
	}
	return words.Say(text, w.force("rating.trueload", l.Carried, l.Low, l.High, l.Open))
}

// ofLimit says how much of the limit was used.
func (w writer) ofLimit(l Load) string {
	value := w.show(l.Limit.Value)
	if l.Limit.Basis == gear.WLL && !l.Limit.part && !l.Limit.half {
		return words.Say("rating.ofwll", unit.Percent(*l.Utilisation), value)
	}
	return words.Say("rating.oflimit", unit.Percent(*l.Utilisation), value, l.Limit.Text)
}

// atHigh says what the upper end of the interval would mean.
func (w writer) atHigh(l Load) string {
	switch {
	case w.planned:
		return w.upTo(l)
	case !l.AtHigh.Worse(l.Verdict):
		return ""
	case l.Open:
		return words.Say("rating.maybe", l.AtHigh)
	}
	return words.Say("rating.high", l.High.ToldAbove(w.u, w.place(l.Carried, l.Low, l.High)), l.AtHigh)
}

// upTo says what the upper end of a planned load would mean.
func (w writer) upTo(l Load) string {
	high := w.show(l.High)
	worse := l.AtHigh.Worse(l.Verdict)
	switch {
	case !(l.High > l.Carried):
		return ""
	case l.Limit == nil && worse:
		return words.Say("rating.upto.worse", high, l.AtHigh)
	case l.Limit == nil:
		return words.Say("rating.upto", high)
	}
	of := words.Say("rating.limit")
	if l.Verdict == NotJudged && !l.Limit.half { // "its half the pair's" is no English
		of = l.Limit.its()
	}
	used := unit.Percent(float64(l.High / l.Limit.Value))
	if worse {
		return words.Say("rating.upto.of.worse", high, used, of, l.AtHigh)
	}
	return words.Say("rating.upto.of", high, used, of)
}

func (w writer) notRated(p Peak, g gear.Item, st gear.Strength) string {
	var say string
	if text := unfit(g.Kind, p.Kind); text != "" {
		say = words.Say(text, article(g.Kind))
	} else {
		say = words.Say("rating.refused", st.Refused[0])
	}
	if w.within {
		return lowerFirst(say)
	}
	return capital(say)
}

func (w writer) notJudged(carried string, st gear.Strength, l Load) string {
	switch {
	case st.Working != nil && st.Working.Sure && l.Open:
		return words.Say("rating.notjudged.open", carried, w.ofLimit(l))
	case st.Working != nil:
		return words.Say("rating.notjudged.unsure", carried, w.ofLimit(l), st.Working.Why)
	case st.Ceiling != nil:
		return words.Say(ceilingText(st.Ceiling.Rating.Basis), carried, unit.Percent(*l.Utilisation), w.show(st.Ceiling.Value))
	case st.Breaking != nil:
		return words.Say("rating.notjudged.mbs", carried, unit.Percent(*l.OfMBS), w.show(st.Breaking.Value))
	}
	return words.Say("rating.notjudged", carried)
}

// ceilingText names the text on a number of no working basis.
func ceilingText(b gear.Basis) string {
	switch b {
	case gear.Estimated:
		return "rating.notjudged.estimate"
	case gear.TookASet:
		return "rating.notjudged.bent"
	case gear.Proof:
		return "rating.notjudged.proof"
	}
	return "rating.notjudged.stamp"
}

// cases is the sentence on an item in a bridle that may not share.
func (w writer) cases(p Peak, g gear.Item, s gear.Situation, it Item) string {
	equal, other := it.Cases[0], it.Cases[1]
	first := w.reason(p, g, s, equal)
	if !other.Known {
		return joined(first, words.Say("rating.cases.unknown"))
	}
	alone := s
	alone.Paired = false
	switch {
	case equal.Verdict == NotRated && other.Verdict == NotRated:
		return first
	case equal.Verdict == other.Verdict && !equal.AtHigh.Worse(other.AtHigh):
		return joined(w.reason(p, g, alone, other), words.Say(w.either("rating.cases.all", "rating.cases.all.planned")))
	}
	w.within = true
	return words.Say(w.either("rating.cases", "rating.cases.planned"), capital(other.Verdict.String()), w.reason(p, g, alone, other),
		w.phrase(equal.Verdict), w.reason(p, g, s, equal))
}

// article is a kind of gear with its article.
func article(k gear.Kind) string { return words.Say("rating.a." + string(k)) }

func capital(s string) string    { return first(s, unicode.ToUpper) }
func lowerFirst(s string) string { return first(s, unicode.ToLower) }

// first changes the first letter.
func first(s string, change func(rune) rune) string {
	r, n := utf8.DecodeRuneInString(s)
	return string(change(r)) + s[n:]
}
