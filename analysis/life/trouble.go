package life

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"tautlog/calc/gear"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Troubles says why nobody should reach for an item today without a look: by
// what it says itself, by a load above what it is rated for that nobody has
// looked into since (common practice, no source), and by the owner's rule on what
// it has been through. Of a
// retired item it says nothing: it is out of use. Forces are written in u.
func Troubles(it gear.Item, used gear.Used, today gear.Date, u unit.ForceUnit) (out []string) {
	if it.Retired != nil {
		return nil
	}
	if q := it.Quarantined; q != nil {
		out = append(out, Quarantined.Says(*q))
	}
	if last, ok := it.LastInspection(); ok && last.Result == gear.Unfit {
		out = append(out, words.Say("life.unfit", last.Date.Words()))
	}
	if due := it.Due(today); due.Overdue {
		out = append(out, due.Text)
	}
	if say, ok := it.Overload(used, u); ok {
		out = append(out, say)
	}
	return append(out, it.RetireReasons(used, today, u)...)
}

// Says tells of an item in that state since when, by whom and why it is out of
// service.
func (s State) Says(w gear.Withdrawal) string {
	say := words.Say("life.state." + string(s))
	if w.Date != "" {
		say = words.Say("life.state.since", say, w.Date.Words())
	}
	if w.Who != "" {
		say = words.Say("life.state.by", say, w.Who)
	}
	return words.Say("life.state.why", say, strings.TrimSuffix(capital(w.Reason), "."))
}

func capital(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return s
	}
	return string(unicode.ToUpper(r)) + s[n:]
}
