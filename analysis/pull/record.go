package pull

// Record is a pull in the form that leaves the program as JSON. Times are in
// seconds from the origin of the trace.
type Record struct {
	Start     float64  `json:"start_s"`
	End       float64  `json:"end_s"`
	Kind      Kind     `json:"kind"`
	Peak      float64  `json:"peak_N"`
	PeakAt    float64  `json:"peak_at_s"`
	PeakLow   float64  `json:"peak_low_N"`
	PeakHigh  float64  `json:"peak_high_N"`
	RiseTime  float64  `json:"rise_time_s"`
	RiseRate  float64  `json:"rise_rate_N_per_s"`
	MaxRise   float64  `json:"max_rise_rate_N_per_s"`
	ToPeak    float64  `json:"impulse_to_peak_N_s"`
	Impulse   float64  `json:"impulse_N_s"`
	AboveHalf float64  `json:"above_half_s"`
	Steady    *float64 `json:"steady_N"`
	Rebound   *float64 `json:"rebound_hz"`
	Damping   *float64 `json:"damping_ratio"`
	Flags     []string `json:"flags"`

	RiseTime95   float64      `json:"rise_time_95_s"`
	RiseRate95   float64      `json:"rise_rate_95_N_per_s"`
	Impulse95    float64      `json:"impulse_95_N_s"`
	PeakReading  float64      `json:"peak_reading_N"`
	PeakFiltered float64      `json:"peak_filtered_N"`
	Filter       string       `json:"filter"`
	Zero         float64      `json:"zero_N"`
	ZeroShift    *float64     `json:"zero_shift_N"`
	Standing     float64      `json:"standing_N"`
	Noise        float64      `json:"noise_sd_N"`
	StickSlip    *float64     `json:"stick_slip_N"`
	HoldDecay    *float64     `json:"hold_decay_percent"`
	Held         *float64     `json:"hold_s"`
	Rebounds     int          `json:"rebounds"`
	Spikes       int          `json:"spikes"`
	Remarks      []string     `json:"remarks"`
	Terms        []TermRecord `json:"uncertainty"`
}

// TermRecord is a Term in the form that leaves the program as JSON.
type TermRecord struct {
	Term string  `json:"term"`
	Low  float64 `json:"low_N"`
	High float64 `json:"high_N"`
	Move float64 `json:"shift_N"`
	Note string  `json:"note,omitempty"`
}

// Record gives the pull in the form that leaves the program, its times
// counted from origin.
func (p Pull) Record(origin int64) Record {
	seconds := func(t int64) float64 { return float64(t-origin) / 1e9 }
	r := Record{
		Start: seconds(p.Start), End: seconds(p.End), Kind: p.Kind,
		Peak: float64(p.Peak), PeakAt: seconds(p.PeakAt),
		PeakLow: float64(p.PeakLow), PeakHigh: float64(p.PeakHigh),
		RiseTime: p.RiseTime, RiseRate: p.RiseRate, MaxRise: p.MaxRise,
		ToPeak: p.ToPeak, Impulse: p.Impulse, AboveHalf: p.AboveHalf,
		Steady: (*float64)(p.Steady), Rebound: p.Rebound, Damping: p.Damping,
		Flags:      append([]string{}, p.Flags...),
		RiseTime95: p.RiseTime95, RiseRate95: p.RiseRate95, Impulse95: p.Impulse95,
		PeakReading: float64(p.PeakReading), PeakFiltered: float64(p.PeakFiltered), Filter: p.Filter,
		Zero: float64(p.Zero), Standing: float64(p.Standing), Noise: float64(p.Noise),
		ZeroShift: (*float64)(p.ZeroShift), StickSlip: (*float64)(p.StickSlip), Held: p.Held, Rebounds: p.Rebounds, Spikes: p.Spikes,
		Remarks: append([]string{}, p.Remarks...),
		Terms:   make([]TermRecord, 0, len(p.Terms)),
	}
	if p.HoldDecay != nil {
		percent := 100 * *p.HoldDecay
		r.HoldDecay = &percent
	}
	for _, t := range p.Terms {
		r.Terms = append(r.Terms, TermRecord{t.Name, float64(t.Low), float64(t.High), float64(t.Shift), t.Note})
	}
	return r
}
