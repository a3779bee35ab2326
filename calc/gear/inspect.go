package gear

import (
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Due is when an item has to be inspected next.
type Due struct {
	// Date is the day by which; empty where the owner has no interval, or no
	// inspection is recorded.
	Date Date
	// Overdue says that the day has passed, or that there is an interval and
	// no inspection is recorded.
	Overdue bool
	// Text says it in a sentence.
	Text string
}

// Due says when the item has to be inspected next, by the owner's interval,
// counted from the last inspection. Without an interval nothing is due.
func (it Item) Due(today Date) Due {
	last, ok := it.LastInspection()
	switch {
	case it.InspectEvery == nil && !ok:
		return Due{Text: words.Say("item.due.nothing")}
	case it.InspectEvery == nil:
		return Due{Text: words.Say("item.due.nointerval", last.Date.Words())}
	case !ok:
		return Due{Overdue: true, Text: words.Count("item.due.never", *it.InspectEvery)}
	}
	d := Due{Date: last.Date.plusMonths(*it.InspectEvery)}
	d.Overdue = d.Date.before(today)
	switch {
	case d.Overdue:
		d.Text = words.Say("item.due.over", last.Date.Words(), d.Date.Words())
	case it.Quarantined != nil || it.Retired != nil || last.Result == Unfit: // a date would sound as if it could be used until then
		d.Text = words.Say("item.due.out", last.Date.Words())
	default:
		d.Text = words.Say("item.due.again", last.Date.Words(), d.Date.Words())
	}
	return d
}

// LastInspection is the latest inspection whose date can be read. A plain
// date of inspection, without a result, counts too.
func (it Item) LastInspection() (Inspection, bool) {
	last := Inspection{Date: Date(it.Inspected)}
	found := last.Date.Known()
	for _, i := range it.Inspections {
		if i.Date.Known() && (!found || !i.Date.before(last.Date)) {
			last, found = i, true
		}
	}
	return last, found
}

// Overload says of an item that may have carried more than the lowest number
// that it is rated for, where it was not inspected on that day or since. That a
// load above a rating asks for a look before the next use is common practice, no
// source. The force is written in u.
func (it Item) Overload(used Used, u unit.ForceUnit) (say string, asks bool) {
	if used.Over == "" {
		return "", false
	}
	if last, ok := it.LastInspection(); ok && !last.Date.before(used.Over) {
		return "", false
	}
	return words.Say("item.overload",
		it.Ceiling().Show(u, 0), used.Over.Words()), true
}
