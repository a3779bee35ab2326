package gear

import (
	"strconv"
	"strings"

	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Age is how old an item is on a day.
type Age struct {
	// Years is its greatest possible age: where only the year of making is
	// known, counted from its first day.
	Years float64
	// Text says it: "2.6 years", "up to 3.2 years (made 2023)".
	Text string
}

// Age is how old the item is today. It is false where no date of making that
// can be read is recorded, or today is not known.
func (it Item) Age(today Date) (Age, bool) {
	made := Date(it.Made)
	least, most, ok := made.years(today)
	if !ok {
		return Age{}, false
	}
	a := Age{Years: most, Text: years(most)}
	if years(least) != years(most) {
		a.Text = words.Say("item.age.most", years(most), made)
	}
	return a, true
}

func years(y float64) string { return words.Say("item.age.years", strconv.FormatFloat(y, 'f', 1, 64)) }

// Text says when the owner retires an item; a nil rule is none.
func (r *RetireRule) Text() string {
	if r == nil {
		return words.Say("item.rule.none")
	}
	var parts []string
	if r.MaxAge != nil {
		parts = append(parts, words.Say("item.rule.age", *r.MaxAge))
	}
	if r.MaxPulls != nil {
		parts = append(parts, words.Count("item.rule.pulls", *r.MaxPulls))
	}
	if r.MaxPeak != nil {
		parts = append(parts, words.Say("item.rule.peak", 100**r.MaxPeak))
	}
	if r.By != "" {
		parts = append(parts, words.Say("item.rule.by", r.By))
	}
	if len(parts) == 0 {
		parts = []string{words.Say("item.rule.nolimit")}
	}
	say := strings.Join(parts, "; ")
	if r.Notes != "" {
		say += " (" + r.Notes + ")"
	}
	return say
}

// RetireReasons says why, by the owner's rule, the item has to be retired
// today: one sentence a reason, none where it need not be or there is no
// rule. What is not known is no reason. Forces are written in u.
func (it Item) RetireReasons(used Used, today Date, u unit.ForceUnit) []string {
	rule := it.RetireRule
	if rule == nil {
		return nil
	}
	var out []string
	if age, ok := it.Age(today); ok && rule.MaxAge != nil && age.Years > *rule.MaxAge {
		out = append(out, words.Say("item.retire.age", age.Text, *rule.MaxAge))
	}
	if rule.By.before(today) {
		out = append(out, words.Say("item.retire.by", rule.By))
	}
	if rule.MaxPulls != nil && used.Pulls > *rule.MaxPulls {
		out = append(out, words.Count("item.retire.pulls", used.Pulls, *rule.MaxPulls))
	}
	if mbs := it.StatedMBS(); rule.MaxPeak != nil && mbs > 0 && float64(used.Peak/mbs) > *rule.MaxPeak {
		out = append(out, words.Say("item.retire.peak", used.Peak.Show(u, 0), 100*float64(used.Peak/mbs), 100**rule.MaxPeak))
	}
	return out
}
