package rating

import (
	"fmt"
	"strings"

	"tautlog/calc/gear"
	"tautlog/calc/rig"
)

// life finds what speaks against an item by its age and what became of it.
func (c *checker) life(p rig.Place) {
	g := p.Use.Item
	if w := g.Retired; w != nil {
		c.note(OutOfService, DoNotPull, ownRecord, fmt.Sprintf("%s was retired%s: %s.", g.Name, on(w.Date), unstopped(w.Reason)), p)
	}
	if w := g.Quarantined; w != nil {
		c.note(OutOfService, DoNotPull, ownRecord, fmt.Sprintf("%s is in quarantine%s until somebody has looked: %s.", g.Name, since(w.Date), unstopped(w.Reason)), p)
	}
	for _, reason := range g.RetireReasons(c.used(g), c.today, c.u) {
		c.note(PastRule, DoNotPull, ownRule, fmt.Sprintf("%s is past its time. %s", g.Name, reason), p)
	}
	c.inspection(p)
}

func since(d gear.Date) string {
	if d == "" {
		return ""
	}
	return " since " + string(d)
}

func (c *checker) inspection(p rig.Place) {
	g := p.Use.Item
	if last, ok := g.LastInspection(); ok {
		switch last.Result {
		case gear.Unfit:
			c.note(InspectionSays, DoNotPull, ownRecord, fmt.Sprintf("The last inspection of %s, %s, found it unfit%s.", g.Name, last.Date, noted(last)), p)
		case gear.Watch:
			c.note(InspectionSays, ToKnow, ownRecord, fmt.Sprintf("The last inspection of %s, %s, left something to watch%s.", g.Name, last.Date, noted(last)), p)
		}
	}
	if due := g.Due(c.today); due.Overdue && c.today.Known() {
		c.note(InspectionDue, SettleFirst, ownRule, fmt.Sprintf("%s: %s", g.Name, lowerFirst(due.Text)), p)
	}
}

// noted adds what the inspector wrote.
func noted(i gear.Inspection) string {
	if i.Notes == "" {
		return ""
	}
	return ": " + unstopped(i.Notes)
}

// unstopped is what somebody wrote, for a sentence that has its own full stop.
func unstopped(s string) string { return strings.TrimRight(s, ". \n") }
