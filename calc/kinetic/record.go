package kinetic

import "tautlog/calc/unit"

// Record is an Outcome for JSON documents. Keys are only ever added; null is
// not known.
type Record struct {
	Peak         float64 `json:"peak_N"`
	Stretch      float64 `json:"stretch_m"`
	TimeToPeak   float64 `json:"time_to_peak_s"`
	Energy       float64 `json:"energy_J"`
	Moves        bool    `json:"moves"`
	Multiplier   float64 `json:"multiplier"`
	MultiplierOf string  `json:"multiplier_of"`

	Method  string   `json:"method"` // "formula" or "integration"
	Held    float64  `json:"held_peak_N"`
	Hardest float64  `json:"hardest_peak_N"`
	Speed   float64  `json:"taut_speed_mps"`
	Drive   float64  `json:"drive_N"` // what the wheels pass on
	Asked   float64  `json:"drive_asked_N"`
	Grip    *float64 `json:"grip_limit_N"`
	Capped  bool     `json:"drive_capped"`
	Slope   float64  `json:"slope_pull_N"` // the puller's weight along its slope, against it

	Stiffness *float64 `json:"stiffness_N_per_m"` // null: a measured curve
	Outside   bool     `json:"outside_curve"`
	Loss      float64  `json:"loss"`
	GivenBack float64  `json:"given_back_J"`
	Strength  *float64 `json:"strap_strength_N"` // wet, where it is
	Share     *float64 `json:"strap_share"`
	KeepOut   *float64 `json:"keep_out_m"`
	KeepAway  float64  `json:"keep_out_factor"`

	Recoil   []RecoilRecord  `json:"recoil"`
	Rebounds []PeakRecord    `json:"rebounds"`
	Attempts []AttemptRecord `json:"attempts"`
	Remarks  []string        `json:"remarks"`
}

// RecoilRecord is a Recoil for JSON documents.
type RecoilRecord struct {
	Part  float64 `json:"part_kg"`
	Speed float64 `json:"at_most_mps"`
}

// PeakRecord is a Peak for JSON documents.
type PeakRecord struct {
	At      float64 `json:"at_s"`
	Force   float64 `json:"peak_N"`
	Stretch float64 `json:"stretch_m"`
}

// AttemptRecord is an Attempt for JSON documents.
type AttemptRecord struct {
	Number  int      `json:"attempt"`
	Stiffer float64  `json:"stiffer"`
	Peak    float64  `json:"peak_N"`
	Share   *float64 `json:"strap_share"`
	Moves   bool     `json:"moves"`
	Way     *float64 `json:"way_m"`
	Stops   bool     `json:"stops"`
}

// Record makes the record.
func (o Outcome) Record() Record {
	r := Record{
		Peak: float64(o.Peak), Stretch: float64(o.Stretch), TimeToPeak: o.PeakAt, Energy: o.Energy, Moves: o.Moves,
		Multiplier: o.Multiplier(), MultiplierOf: MultiplierOf,
		Method: "integration", Held: float64(o.Held.Peak), Hardest: float64(o.Hardest), Speed: float64(o.Pull.Speed),
		Drive: float64(o.Push.Drive), Asked: float64(o.Push.Asked), Grip: (*float64)(o.Push.Limit), Capped: o.Push.Capped(), Slope: float64(o.Push.Weight),
		Outside: o.Outside, Loss: o.Pull.Line.Loss, GivenBack: o.GivenBack,
		Strength: known(o.Strength), Share: o.shareOf(o.Peak), KeepOut: known(o.KeepOut), KeepAway: o.KeepAway,
		Recoil: []RecoilRecord{}, Rebounds: []PeakRecord{}, Attempts: []AttemptRecord{}, Remarks: o.Remarks,
	}
	if o.ByFormula {
		r.Method = "formula"
	}
	if k, ok := o.Pull.Line.Curve.(Linear); ok {
		r.Stiffness = known(k)
	}
	for _, c := range o.Recoil {
		r.Recoil = append(r.Recoil, RecoilRecord{float64(c.Part), float64(c.Speed)})
	}
	for _, p := range o.Rebounds {
		r.Rebounds = append(r.Rebounds, PeakRecord{p.At, float64(p.Force), float64(p.Stretch)})
	}
	for i, a := range o.Attempts {
		r.Attempts = append(r.Attempts, AttemptRecord{i + 1, a.Stiffer, float64(a.Peak), o.shareOf(a.Peak), a.Moves, (*float64)(a.Way), a.Stops})
	}
	return r
}

// known is nil for what zero says is not known.
func known[T ~float64](v T) *float64 {
	if v == 0 {
		return nil
	}
	f := float64(v)
	return &f
}

func (o Outcome) shareOf(f unit.Force) *float64 {
	if share, ok := o.Share(f); ok {
		return &share
	}
	return nil
}
