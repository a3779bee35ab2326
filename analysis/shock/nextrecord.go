package shock

import (
	"math"

	"tautlog/calc/words"
)

// NextRecord is a test day in the form that leaves the program as JSON. What is
// named expected is an expectation; null where there is none.
type NextRecord struct {
	Target    PlannedRecord    `json:"target"`
	Basis     Basis            `json:"basis"`
	Limit     float64          `json:"limit_N"`
	Assumed   float64          `json:"assumed_multiplier"`
	Now       *float64         `json:"target_upper_now_N"`
	Then      *float64         `json:"target_upper_expected_N"`
	DoubtNow  *float64         `json:"target_sd_log_now"`
	DoubtThen *float64         `json:"target_sd_log_expected"`
	Pulls     []NextPullRecord `json:"pulls"`
	Allowed   []NextPullRecord `json:"allowed"`
	Excluded  []ExcludedRecord `json:"excluded"`
	ClassNow  *float64         `json:"class_upper_95_95_now"`
	Days      []NextDayRecord  `json:"class_expected"`
	Notes     []string         `json:"notes"`
}

// PlannedRecord is a pull that is not yet made; null is what is not known.
type PlannedRecord struct {
	ClassName
	Speed       *float64 `json:"speed_mps"`
	Puller      *float64 `json:"puller_kg"`
	Reference   float64  `json:"reference_kg"`
	StrapLength *float64 `json:"strap_length_m"`
	StrapMBS    *float64 `json:"strap_mbs_N"`
}

// NextPullRecord is a pull that might be made.
type NextPullRecord struct {
	PlannedRecord
	Count    int      `json:"pulls,omitempty"`
	Expected *float64 `json:"expected_peak_N"`
	Upper    float64  `json:"upper_N"`
	Basis    Basis    `json:"basis"`
	Share    float64  `json:"of_limit"`
	Gain     float64  `json:"narrows_by_expected"`
	First    bool     `json:"nothing_known"`
}

// ExcludedRecord is a pull that is not to be made.
type ExcludedRecord struct {
	NextPullRecord
	Reason string `json:"reason"`
}

// NextDayRecord is what is expected of the bound of the target's class.
type NextDayRecord struct {
	Pulls int     `json:"pulls"`
	Days  int     `json:"days"`
	Same  bool    `json:"last_logged_day"`
	Upper float64 `json:"upper_95_95_expected"`
}

// Record gives the plan in the form that leaves the program.
func (n NextPlan) Record() NextRecord {
	r := NextRecord{
		Target: n.Target.planRecord(), Basis: n.By, Limit: float64(n.Limit), Assumed: n.Assumed,
		Now: (*float64)(n.Now), Then: (*float64)(n.Then), DoubtNow: known(n.DoubtNow), DoubtThen: known(n.DoubtThen),
		Pulls: []NextPullRecord{}, Allowed: []NextPullRecord{}, Excluded: []ExcludedRecord{},
		ClassNow: n.ClassNow, Days: []NextDayRecord{}, Notes: n.Notes(),
	}
	for _, p := range n.Pulls {
		r.Pulls = append(r.Pulls, p.record())
	}
	for _, p := range n.Allowed {
		r.Allowed = append(r.Allowed, p.record())
	}
	for _, p := range n.Excluded {
		r.Excluded = append(r.Excluded, ExcludedRecord{p.record(), p.Reason})
	}
	for _, d := range n.Days {
		r.Days = append(r.Days, NextDayRecord(d))
	}
	return r
}

func (p Pull) planRecord() PlannedRecord {
	return PlannedRecord{
		p.Class.Name(), known(p.Speed), known(p.Puller), float64(p.Reference), known(p.StrapLength), known(p.StrapMBS),
	}
}

func (p NextPull) record() NextPullRecord {
	return NextPullRecord{p.Pull.planRecord(), p.Count, (*float64)(p.Expected), float64(p.Upper), p.Basis, p.Share, p.Gain, p.First}
}

// known is a number of which zero means that it is not known.
func known[T ~float64](v T) *float64 {
	if v == 0 || math.IsNaN(float64(v)) {
		return nil
	}
	f := float64(v)
	return &f
}

// hardly is the share of a bound that is left after a day which hardly teaches
// anything: own choice, no source.
const hardly = 0.99

// Notes says what is to be known of the plan, for people.
func (n NextPlan) Notes() (all []string) {
	say := func(when bool, text string) {
		if when {
			all = append(all, text)
		}
	}
	basis, first := map[Basis]bool{}, false
	for _, p := range n.Pulls {
		basis[p.Basis], first = true, first || p.First
	}
	say(len(n.Pulls) == 0, words.Say("shock.next.nothing"))
	say(n.Now != nil && *n.Now > n.Limit, words.Say("shock.next.target.above"))
	say(n.Now != nil && n.Then != nil && float64(*n.Then) > hardly*float64(*n.Now), words.Say("shock.next.hardly"))
	say(len(n.Pulls) > 0, words.Say("shock.next.compare"))
	say(first, words.Say("shock.next.unknown.note"))
	say(basis[ByAssumed], words.Say("shock.next.assumed"))
	say(basis[ByClass], words.Say("shock.bound.holds"))
	say(n.Then != nil, words.Say("shock.next.hopeful"))
	say(n.By == BySpeed, words.Say("shock.next.one-day"))
	return all
}
