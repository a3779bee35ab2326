package gear

import (
	"fmt"
	"strconv"
	"strings"

	"tautlog/calc/unit"
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
		a.Text = fmt.Sprintf("up to %s (made %s)", years(most), made)
	}
	return a, true
}

func years(y float64) string { return strconv.FormatFloat(y, 'f', 1, 64) + " years" }

// Text says when the owner retires an item; a nil rule is none.
func (r *RetireRule) Text() string {
	if r == nil {
		return "none is recorded"
	}
	var parts []string
	add := func(format string, v any) { parts = append(parts, fmt.Sprintf(format, v)) }
	if r.MaxAge != nil {
		add("at %g years", *r.MaxAge)
	}
	if r.MaxPulls != nil {
		add("after %d pulls", *r.MaxPulls)
	}
	if r.MaxPeak != nil {
		add("after one pull above %.0f %% of its breaking strength", 100**r.MaxPeak)
	}
	if r.By != "" {
		add("by %s", r.By)
	}
	if len(parts) == 0 {
		parts = []string{"recorded, without a limit"}
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
	note := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	if age, ok := it.Age(today); ok && rule.MaxAge != nil && age.Years > *rule.MaxAge {
		note("It is %s old; the owner retires it after %g years.", age.Text, *rule.MaxAge)
	}
	if rule.By.before(today) {
		note("The owner retires it by %s.", rule.By)
	}
	if rule.MaxPulls != nil && used.Pulls > *rule.MaxPulls {
		note("It carried %d pulls; the owner retires it after %d.", used.Pulls, *rule.MaxPulls)
	}
	if mbs := it.StatedMBS(); rule.MaxPeak != nil && mbs > 0 && float64(used.Peak/mbs) > *rule.MaxPeak {
		note("It carried %s, %.0f %% of its breaking strength; the owner retires it after more than %.0f %%.",
			used.Peak.Show(u, 0), 100*float64(used.Peak/mbs), 100**rule.MaxPeak)
	}
	return out
}
