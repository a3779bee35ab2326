package rating

import (
	"strings"

	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/words"
)

// life finds what speaks against an item by its age and what became of it.
func (c *checker) life(p rig.Place) {
	g := p.Use.Item
	if w := g.Retired; w != nil {
		c.note(OutOfService, DoNotPull, ownRecord, outOfService("mismatch.retired", "mismatch.retired.on", g.Name, *w), p)
	}
	if w := g.Quarantined; w != nil {
		c.note(OutOfService, DoNotPull, ownRecord, outOfService("mismatch.quarantined", "mismatch.quarantined.since", g.Name, *w), p)
	}
	for _, reason := range g.RetireReasons(c.used(g), c.today, c.u) {
		c.note(PastRule, DoNotPull, ownRule, words.Say("mismatch.past", g.Name, reason), p)
	}
	c.inspection(p)
}

// outOfService says why an item is, with the text that names the day where it
// is known.
func outOfService(text, dated, name string, w gear.Withdrawal) string {
	if w.Date == "" {
		return words.Say(text, name, unstopped(w.Reason))
	}
	return words.Say(dated, name, w.Date.Words(), unstopped(w.Reason))
}

func (c *checker) inspection(p rig.Place) {
	g := p.Use.Item
	if last, ok := g.LastInspection(); ok {
		switch last.Result {
		case gear.Unfit:
			c.note(InspectionSays, DoNotPull, ownRecord, inspected("mismatch.unfit", "mismatch.unfit.noted", g.Name, last), p)
		case gear.Watch:
			c.note(InspectionSays, ToKnow, ownRecord, inspected("mismatch.watch", "mismatch.watch.noted", g.Name, last), p)
		}
	}
	if due := g.Due(c.today); due.Overdue && c.today.Known() {
		c.note(InspectionDue, SettleFirst, ownRule, words.Say("mismatch.due", g.Name, lowerFirst(due.Text)), p)
	}
}

// inspected says what an inspection found, with the text that takes what the
// inspector wrote where there is something.
func inspected(text, noted, name string, i gear.Inspection) string {
	if i.Notes == "" {
		return words.Say(text, name, i.Date.Words())
	}
	return words.Say(noted, name, i.Date.Words(), unstopped(i.Notes))
}

// unstopped is what somebody wrote, for a sentence that has its own full stop.
func unstopped(s string) string { return strings.TrimRight(s, ". \n") }
