package rating

import (
	"tautlog/analysis/pull"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Peak is the peak of a pull at the cell, with the 95 % interval of the true
// peak.
type Peak struct {
	Value unit.Force
	// Low and High bound the true peak. Both zero: no interval is known.
	Low, High unit.Force
	// Open says that the value is only a lower bound: the instrument was
	// beyond its range, or readings beside the largest one are missing. An
	// infinite High says the same.
	Open bool
	// Kind is the kind of pull; empty where it is not known. Some gear has
	// no place in a kinetic pull.
	Kind pull.Kind
	// On is the day of the pull, "2026-03-14"; empty where what depends on the
	// day (an inspection that was due, age) is not to be remarked on.
	On string

	most    bool // only an upper bound: of two cells that need not peak at the same moment
	planned bool // not yet made, and of the line: sentences say what would be
}

// PeakOf is the peak of a measured pull.
func PeakOf(p pull.Pull) Peak {
	return Peak{
		Value: p.Peak, Low: p.PeakLow, High: p.PeakHigh, Kind: p.Kind,
		Open: p.AtLeast(),
	}
}

// Result is the verdict on a whole rig.
type Result struct {
	// Peak is what was judged.
	Peak Peak
	// Unit is the unit in which the sentences are written.
	Unit unit.ForceUnit
	// Items lists every item, weakest first: worst verdict, then highest
	// utilisation. Of a planned pull the verdict at the upper end comes first.
	Items []Item
	// Verdict is the worst of them, AtHigh the worst at the upper end of the
	// interval.
	Verdict, AtHigh Verdict
	// Summary says in one or two sentences how the rig fared.
	Summary string
	// Remarks are what to know beside it: what was assumed, what was not
	// judged, what is outside published limits.
	Remarks []string
}

// Nearest is the item that is used most of its limit, whatever its verdict. It
// is false where no item has one.
func (r Result) Nearest() (nearest Item, ok bool) {
	for _, it := range r.Items {
		if it.Utilisation != nil && (!ok || it.Factor*float64(nearest.Limit.Value) > nearest.Factor*float64(it.Limit.Value)) {
			nearest, ok = it, true
		}
	}
	return nearest, ok
}

// Weakest is the item that was nearest to, or furthest over, its limit. It is
// false for a rig without items.
func (r Result) Weakest() (Item, bool) {
	if len(r.Items) == 0 {
		return Item{}, false
	}
	return r.Items[0], true
}

// At finds the item at a place of the rig by its Ref.
func (r Result) At(ref string) (Item, bool) {
	for _, it := range r.Items {
		if it.Ref == ref {
			return it, true
		}
	}
	return Item{}, false
}

// Item is the verdict on one item. Where the legs of a bridle may not share,
// there are two cases and the load, utilisation and limit are those of the
// worse one.
type Item struct {
	// Ref is the place in the rig, as in rig.Place.
	Ref string
	// ID, Name and Kind are those of the gear.
	ID, Name string
	Kind     gear.Kind
	// Where says in words where it sits.
	Where string
	// Share is what it carries in relation to the reading.
	Share rig.Share
	Load
	// Cases are the two cases of a bridle that may not share, the equal one
	// first; empty otherwise.
	Cases []Load
	// Mounting is what the verdict on a mounting stands on; nil for what is
	// none.
	Mounting *Mounting
	// Reason is one sentence, or a few, with the numbers in it.
	Reason string
}

// Load is what an item carried against what it may carry.
type Load struct {
	// When says in which case; empty where there is only one.
	When string
	// Known says that the load is known. It is not where the cell hangs in
	// one leg of a bridle that may not share.
	Known bool
	// Factor is the load over the reading.
	Factor float64
	// Carried is the load; Low and High its interval, both zero where none
	// is known.
	Carried, Low, High unit.Force
	// Open says that Carried is only a lower bound.
	Open bool
	// Limit is the working limit with its basis, or the number that stands
	// in for one; nil where there is none.
	Limit *Limit
	// OfWLL and OfMBS are Carried over the WLL and the MBS that speak for
	// this use; nil where there is none.
	OfWLL, OfMBS *float64
	// Utilisation is Carried over Limit; nil where there is no limit. It is
	// what a drawing fills an item to.
	Utilisation *float64
	// Verdict is the verdict at the reading.
	Verdict Verdict
	// AtHigh is the verdict at the upper end of the interval: the same as
	// Verdict where no interval is known, the worst that a load can give where
	// Carried is only a lower bound.
	AtHigh Verdict
}

// Limit is the number that an item was judged by.
type Limit struct {
	// Value is the most that this item may carry in this use, or the
	// breaking strength or stamped number where no working limit is known.
	Value unit.Force
	// Basis is the basis of the rating behind it.
	Basis gear.Basis
	// Working says that it is a working limit. A breaking strength without a
	// design factor, a proof load and a stamped number are not.
	Working bool
	// Text says what it is: "WLL", "MBS over the owner's design factor 2",
	// "70 % of WLL, side load".
	Text string

	part bool // of the number that is stated
	half bool // of what is stated of a pair
}

// Percent is the utilisation in words, "61 %"; empty where there is no limit.
func (l Load) Percent() string {
	switch {
	case l.Utilisation == nil:
		return ""
	case l.Open:
		return words.Say("rating.atleast", unit.Percent(*l.Utilisation))
	}
	return unit.Percent(*l.Utilisation)
}
