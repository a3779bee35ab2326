package plan

import (
	"tautlog/analysis/rating"
	"tautlog/calc/unit"
)

// OutlookRecord is an Outlook in the form that leaves the program as JSON: the
// keys of a judged pull, and what comes on top in planning.
type OutlookRecord struct {
	rating.VerdictRecord                     // of the whole rig
	Weakest              string              `json:"weakest"`
	WeakestRef           string              `json:"weakest_ref"`
	Summary              string              `json:"summary"`
	Nearest              *NearestRecord      `json:"nearest"` // null: no item has a limit
	Items                []rating.ItemRecord `json:"items"`
	Largest              LargestRecord       `json:"largest_pull"`
	Bridles              []ForkRecord        `json:"bridles"`
}

// NearestRecord is the item that is used most of its limit.
type NearestRecord struct {
	Ref       string  `json:"ref"`
	Name      string  `json:"name"`
	When      string  `json:"when,omitempty"` // in which case of a bridle
	Limit     float64 `json:"limit_N"`
	LimitText string  `json:"limit_text"`
	OfLimit   float64 `json:"of_limit"`         // at the likely force
	AtHigh    float64 `json:"of_limit_at_high"` // at the force to plan with
}

// LargestRecord is how hard the line may pull.
type LargestRecord struct {
	// Force is null where no force keeps every item inside its rating.
	Force *float64 `json:"all_inside_N"`
	// First is the force at which the first item reaches a limit that is known
	// of it, whatever there is to say of the others; null where none is known.
	First     *float64 `json:"first_limit_N"`
	ByRef     string   `json:"first_limit_ref"`
	By        string   `json:"first_limit"`
	When      string   `json:"first_limit_when,omitempty"`
	NotRated  []string `json:"not_rated"`
	NotJudged []string `json:"not_judged"`
	Text      []string `json:"text"`
}

// ForkRecord is a bridle.
type ForkRecord struct {
	Vehicle   string      `json:"vehicle"`
	Included  float64     `json:"included_deg"`
	Equaliser bool        `json:"equaliser"`
	Alone     float64     `json:"share_if_alone"`
	Legs      []LegRecord `json:"legs"`
}

// LegRecord is a leg of a bridle at an angle.
type LegRecord struct {
	Included float64 `json:"included_deg"`
	Share    float64 `json:"share"`
	Force    float64 `json:"leg_N"` // at the force to plan with
}

// Record gives the outlook in the form that leaves the program.
func (o Outlook) Record() OutlookRecord {
	res := o.Result
	r := OutlookRecord{
		VerdictRecord: rating.VerdictRecord{Verdict: res.Verdict, AtHigh: res.AtHigh}, Summary: res.Summary,
		Nearest: nearestRecord(res), Items: []rating.ItemRecord{}, Largest: o.Largest.record(res.Unit), Bridles: []ForkRecord{},
	}
	if weakest, ok := res.Weakest(); ok {
		r.Weakest, r.WeakestRef = weakest.Name, weakest.Ref
	}
	for _, it := range res.Items {
		r.Items = append(r.Items, it.Record())
	}
	for _, f := range o.Forks {
		r.Bridles = append(r.Bridles, f.record())
	}
	return r
}

func nearestRecord(res rating.Result) *NearestRecord {
	it, ok := res.Nearest()
	if !ok {
		return nil
	}
	high := max(res.Peak.Value, res.Peak.High)
	return &NearestRecord{
		Ref: it.Ref, Name: it.Name, When: it.When, Limit: float64(it.Limit.Value), LimitText: it.Limit.Text,
		OfLimit: *it.Utilisation, AtHigh: it.Factor * float64(high/it.Limit.Value),
	}
}

func (l Largest) record(u unit.ForceUnit) LargestRecord {
	r := LargestRecord{
		ByRef: l.First.Ref, By: l.First.Name, When: l.When,
		NotRated: names(l.NotRated), NotJudged: names(l.NotJudged), Text: l.Text(u),
	}
	if l.Limited() {
		r.First = number(float64(l.Force))
	}
	if l.AllInside() {
		r.Force = r.First
	}
	return r
}

func (f Fork) record() ForkRecord {
	r := ForkRecord{f.Vehicle, f.Included.Degrees(), f.Equaliser, f.Alone, []LegRecord{}}
	for _, l := range f.Legs {
		r.Legs = append(r.Legs, LegRecord{l.Included.Degrees(), l.Share, float64(l.Force)})
	}
	return r
}

func number(v float64) *float64 { return &v }
