package plan

import (
	"tautlog/calc/unit"
)

// ForecastRecord is a Forecast in the form that leaves the program as JSON,
// beside the keys of kinetic.Record. Those of the rig are left out where there
// is none.
type ForecastRecord struct {
	With        WithRecord       `json:"with"`
	Evidence    []EvidenceRecord `json:"evidence"`
	Expected    float64          `json:"expected_peak_N"`
	Planning    float64          `json:"planning_peak_N"`
	PlannedWith string           `json:"planned_with"`
	Puller      float64          `json:"puller_kg"`
	Stuck       float64          `json:"stuck_kg"`
	Reference   float64          `json:"reference_kg"`
	Ground      string           `json:"ground"`
	Strap       string           `json:"strap"`
	Slowest     *float64         `json:"logged_slowest_mps"` // null: no speeds were logged
	Fastest     *float64         `json:"logged_fastest_mps"`
	Recoil      RecoilRecord     `json:"planning_recoil"`
	Notes       []string         `json:"notes"`
	*OutlookRecord
}

// WithRecord names a set.
type WithRecord struct {
	Name    string `json:"name"`
	Version int    `json:"version"` // 0: it has none
}

// EvidenceRecord is what one source says of the peak.
type EvidenceRecord struct {
	From       Source   `json:"from"`
	Expected   *float64 `json:"expected_N"`
	Upper      *float64 `json:"upper_N"`
	Multiplier float64  `json:"multiplier"` // of the reference weight
	Used       bool     `json:"used"`
	Text       string   `json:"text"`
}

// RecoilRecord is what could fly if the line let go.
type RecoilRecord struct {
	Energy  float64      `json:"energy_J"`
	KeepOut *float64     `json:"keep_out_m"` // null: the length of the line is not known
	Length  *float64     `json:"line_m"`
	Factor  float64      `json:"keep_out_factor"`
	Parts   []PartRecord `json:"parts"`
}

// PartRecord is something that could let go.
type PartRecord struct {
	Name  string  `json:"name"`
	Mass  float64 `json:"part_kg"`
	Speed float64 `json:"at_most_mps"`
}

// Record gives the forecast in the form that leaves the program.
func (f Forecast) Record() ForecastRecord {
	k := f.Kinetic
	r := ForecastRecord{
		With: WithRecord{k.With.Name, k.With.Version}, Evidence: []EvidenceRecord{},
		Expected: float64(f.Expected), Planning: float64(f.Planning), PlannedWith: f.PlannedWith,
		Puller: float64(k.Plan.Puller), Stuck: float64(k.Plan.Stuck), Reference: float64(k.Reference),
		Ground: k.Ground, Strap: k.Strap, Recoil: f.Recoil.record(), Notes: append([]string{}, f.Notes...),
	}
	for _, e := range f.Evidence {
		r.Evidence = append(r.Evidence, EvidenceRecord{e.From, newtons(e.Expected), newtons(e.Upper), e.Multiplier, e.Used, e.Text})
	}
	if f.Speeds != nil {
		r.Slowest, r.Fastest = number(float64(f.Speeds.Slowest)), number(float64(f.Speeds.Fastest))
	}
	if f.Outlook != nil {
		o := f.Outlook.Record()
		r.OutlookRecord = &o
	}
	return r
}

func (r Recoil) record() RecoilRecord {
	out := RecoilRecord{Energy: r.Energy, Factor: r.Factor, Parts: []PartRecord{}}
	if r.KeepOut > 0 {
		out.KeepOut, out.Length = number(float64(r.KeepOut)), number(float64(r.Length))
	}
	for _, p := range r.Parts {
		out.Parts = append(out.Parts, PartRecord{p.Name, float64(p.Mass), float64(p.Speed)})
	}
	return out
}

// HighestRecord is a Highest in the form that leaves the program.
type HighestRecord struct {
	// Upper is the highest speed at which even the upper bound of the peak
	// stays within the first limit, Expected that for the expected peak. Null
	// where no speed keeps every item inside its rating, where none is known,
	// and where the limit is not reached up to limit_mps.
	Upper    *float64      `json:"highest_speed_mps"`
	Expected *float64      `json:"highest_speed_expected_mps"`
	Detail   HighestDetail `json:"highest_speed"`
}

// HighestDetail is how a highest speed came about.
type HighestDetail struct {
	Force     *float64       `json:"first_limit_N"` // of the line; null: no limit is known
	ByRef     string         `json:"first_limit_ref"`
	By        string         `json:"first_limit"`
	When      string         `json:"first_limit_when,omitempty"`
	Expected  *ReachedRecord `json:"expected"`
	Upper     *ReachedRecord `json:"upper"` // null: no uncertainty is known
	Basis     Basis          `json:"basis"`
	Assumed   *float64       `json:"assumed_peak_N"`
	Limit     float64        `json:"limit_mps"`
	NotRated  []string       `json:"not_rated"`
	NotJudged []string       `json:"left_out"`
	Text      []string       `json:"text"`
}

// ReachedRecord is where a peak reaches the first limit.
type ReachedRecord struct {
	Speed   float64 `json:"speed_mps"`
	Never   bool    `json:"not_up_to_limit"`
	Already bool    `json:"from_standstill"`
}

// Record gives the answer in the form that leaves the program.
func (h Highest) Record() HighestRecord {
	l := h.Largest
	r := HighestRecord{Detail: HighestDetail{
		ByRef: l.First.Ref, By: l.First.Name, When: l.When, Basis: h.Basis, Assumed: newtons(h.Assumed),
		Limit: float64(Fastest), NotRated: names(l.NotRated), NotJudged: names(l.NotJudged), Text: h.Text,
	}}
	if !l.Limited() {
		return r
	}
	r.Detail.Force = l.Force.Finite()
	r.Expected, r.Detail.Expected = h.Expected.record(l)
	if h.Upper != nil {
		r.Upper, r.Detail.Upper = h.Upper.record(l)
	}
	return r
}

// record gives the speed where it is an answer, and how it came about.
func (r Reached) record(l Largest) (*float64, *ReachedRecord) {
	detail := &ReachedRecord{float64(r.Speed), r.Never, r.Already}
	if r.Never || r.Already || len(l.NotRated) > 0 {
		return nil, detail
	}
	return &detail.Speed, detail
}

// newtons is a force as a number; nil where there is none.
func newtons(f *unit.Force) *float64 {
	if f == nil {
		return nil
	}
	return f.Finite()
}
