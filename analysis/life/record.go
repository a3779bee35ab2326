package life

import (
	"tautlog/analysis/pull"
	"tautlog/analysis/rating"
	"tautlog/calc/gear"
	"tautlog/calc/unit"
)

// Record is a life in the form that leaves the program as JSON. Forces are in
// newtons; null: not known, never zero.
type Record struct {
	Item        gear.Item        `json:"item"` // as the register has it: ratings, rule, inspections, quarantine
	On          gear.Date        `json:"on"`   // the day for ages and inspections
	Age         *AgeRecord       `json:"age"`
	Pulls       int              `json:"pulls"`
	Unknown     int              `json:"pulls_of_unknown_load"`
	Cycles      int              `json:"load_cycles"` // pulls, and how often the line came taut again in them
	Largest     *float64         `json:"largest_N"`
	LargestPull *int64           `json:"largest_pull"`
	OfMBS       *float64         `json:"largest_of_mbs"` // over the stated breaking strength
	OfWLL       *float64         `json:"largest_of_wll"` // over the stated WLL
	AboveHalf   *AboveRecord     `json:"above_half_of_mbs"`
	Verdicts    []CountRecord    `json:"verdicts"`
	Rule        string           `json:"rule"`      // the owner's, in words
	Retire      []string         `json:"retire"`    // why by that rule it has to be retired
	Due         DueRecord        `json:"due"`       // for inspection
	State       State            `json:"state"`     // in use, or not
	Withdrawn   *gear.Withdrawal `json:"withdrawn"` // since when and why it is out of service
	Each        []CarriedRecord  `json:"each"`      // the latest first
	Cautions    []rating.Caution `json:"cautions"`
}

// State says whether an item may be reached for, by its own record.
type State string

// The states.
const (
	InUse       State = "in use"
	Quarantined State = "in quarantine"
	Retired     State = "retired"
)

// AgeRecord is how old an item is.
type AgeRecord struct {
	Years float64 `json:"years"` // at most
	Text  string  `json:"text"`
}

// AboveRecord counts pulls above half of the breaking strength.
type AboveRecord struct {
	Pulls  int `json:"pulls"`
	AtHigh int `json:"pulls_at_high"` // at the upper end of the interval
}

// CountRecord is how many pulls had a verdict.
type CountRecord struct {
	Verdict rating.Verdict `json:"verdict"`
	Pulls   int            `json:"pulls"`
	AtHigh  int            `json:"pulls_at_high"`
}

// DueRecord is when an item has to be inspected next.
type DueRecord struct {
	By      gear.Date `json:"by,omitempty"`
	Overdue bool      `json:"overdue"`
	Text    string    `json:"text"`
}

// CarriedRecord is one pull of an item.
type CarriedRecord struct {
	Pull     int64          `json:"pull"`
	Beside   []int64        `json:"beside,omitempty"` // the same pull as another cell saw it
	Start    string         `json:"start"`            // RFC 3339, UTC
	Kind     pull.Kind      `json:"kind"`
	Ground   string         `json:"ground,omitempty"`
	Rig      string         `json:"rig,omitempty"`
	Where    string         `json:"where,omitempty"`
	Carried  *float64       `json:"carried_N"`
	Low      *float64       `json:"carried_low_N"`
	High     *float64       `json:"carried_high_N"`
	Open     bool           `json:"carried_is_lower_bound"`
	OfMBS    *float64       `json:"of_mbs"`
	OfWLL    *float64       `json:"of_wll"`
	Rebounds int            `json:"rebounds"`
	Verdict  rating.Verdict `json:"verdict"`
	AtHigh   rating.Verdict `json:"verdict_at_high"`
	Reason   string         `json:"reason"`
}

// Cycles is how often the item was loaded: pulls, and how often the line came
// taut again in them. How hard that was is not kept.
func (l Life) Cycles() int { return len(l.Pulls) + l.Rebounds }

// State says whether the item is in service, and else since when and why not.
func (l Life) State() (State, *gear.Withdrawal) {
	switch it := l.Item; {
	case it.Retired != nil:
		return Retired, it.Retired
	case it.Quarantined != nil:
		return Quarantined, it.Quarantined
	}
	return InUse, nil
}

// Record gives the life in the form that leaves the program, as of the day
// that it was summed up for, with sentences in u. At writes a time, ns UTC.
func (l Life) Record(on gear.Date, u unit.ForceUnit, at func(ns int64) string) Record {
	r := Record{
		Item: l.Item, On: on, Pulls: len(l.Pulls), Unknown: l.Unknown, Cycles: l.Cycles(), Verdicts: []CountRecord{}, Rule: l.Item.RetireRule.Text(),
		Retire: append([]string{}, l.Retire...), Due: DueRecord{l.Due.Date, l.Due.Overdue, l.Due.Text}, Each: []CarriedRecord{}, Cautions: rating.Cautions(),
	}
	r.State, r.Withdrawn = l.State()
	if l.Age.Text != "" {
		r.Age = &AgeRecord{l.Age.Years, l.Age.Text}
	}
	if l.Largest >= 0 {
		c := l.Pulls[l.Largest]
		r.Largest, r.LargestPull, r.OfMBS, r.OfWLL = c.Carried.Finite(), &c.Use.Pull, c.OfMBS, c.OfWLL
	}
	if l.Item.StatedMBS() > 0 {
		r.AboveHalf = &AboveRecord{}
		r.AboveHalf.Pulls, r.AboveHalf.AtHigh = l.Above(0.5)
	}
	for _, c := range l.Counts {
		r.Verdicts = append(r.Verdicts, CountRecord(c))
	}
	for i, c := range l.Pulls {
		r.Each = append(r.Each, c.record(at(c.Use.Start), l.Reason(i, u)))
	}
	return r
}

func (c Carried) record(start, reason string) CarriedRecord {
	r := CarriedRecord{
		Pull: c.Use.Pull, Beside: c.Use.Beside, Start: start, Kind: c.Use.Kind, Ground: c.Use.Ground,
		Rig: c.Use.Rig, Where: c.Where, Open: c.Open, OfMBS: c.OfMBS, OfWLL: c.OfWLL, Rebounds: c.Use.Rebounds, Verdict: c.Verdict, AtHigh: c.AtHigh, Reason: reason,
	}
	if c.Known {
		r.Carried = c.Carried.Finite()
	}
	if c.Known && (c.Low != 0 || c.High != 0) {
		r.Low, r.High = c.Low.Finite(), c.High.Finite()
	}
	return r
}
