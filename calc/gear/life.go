package gear

import "tautlog/calc/unit"

// Life is what has become of an item, and the owner's rules for it. Its keys
// stand beside those of the item.
type Life struct {
	// RetireRule says when the owner takes it out of service for good.
	RetireRule *RetireRule `json:"retire_rule,omitempty"`
	// InspectEvery is the owner's interval of inspections in months; nil: no
	// rule is recorded.
	InspectEvery *int `json:"inspect_every_months,omitempty"`
	// Inspections are those that were made, in any order.
	Inspections []Inspection `json:"inspections,omitempty"`
	// Quarantined and Retired say that it is out of service: until somebody
	// has looked, or for good.
	Quarantined *Withdrawal `json:"quarantined,omitempty"`
	Retired     *Withdrawal `json:"retired,omitempty"`
}

// RetireRule is when the owner retires an item: as soon as one of its limits
// is passed. A nil limit is none.
type RetireRule struct {
	// MaxAge is in years from when it was made.
	MaxAge *float64 `json:"max_age_years,omitempty"`
	// MaxPulls is how many pulls it may carry.
	MaxPulls *int `json:"max_pulls,omitempty"`
	// MaxPeak is the share of its breaking strength above which one pull is
	// its last, 0.5 for half.
	MaxPeak *float64 `json:"max_peak_of_mbs,omitempty"`
	// By is the last day on which it may be used.
	By Date `json:"by,omitempty"`
	// Notes say where the rule comes from.
	Notes string `json:"notes,omitempty"`
}

// Inspection is one look at an item by somebody who knows how.
type Inspection struct {
	Date   Date    `json:"date"`
	Who    string  `json:"who,omitempty"`
	Result Finding `json:"result"`
	Notes  string  `json:"notes,omitempty"`
	// Photos are names of files.
	Photos []string `json:"photos,omitempty"`
}

// Finding is the result of an inspection.
type Finding string

// The findings.
const (
	InOrder Finding = "in order"
	Watch   Finding = "watch" // in order, with something to look at next time
	Unfit   Finding = "unfit" // not to be used
)

// UnmarshalText reads a finding and refuses a word that is none.
func (x *Finding) UnmarshalText(b []byte) error {
	return word(x, b, "finding", []Finding{InOrder, Watch, Unfit})
}

// Withdrawal is an item's going out of service.
type Withdrawal struct {
	Date   Date   `json:"date,omitempty"`
	Reason string `json:"reason"`
	Who    string `json:"who,omitempty"`
}

// Used is what an item has been through, from the logged pulls.
type Used struct {
	// Pulls is how many it carried.
	Pulls int
	// Peak is the most that it carried.
	Peak unit.Force
	// Over is the day of the latest pull in which it may have carried more than
	// its Ceiling; empty: none.
	Over Date
}
