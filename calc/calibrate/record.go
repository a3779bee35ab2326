package calibrate

import (
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Record is a fit in the form that leaves the program and that is kept, as
// JSON. Forces are in newtons.
type Record struct {
	Degree        int             `json:"degree"`
	DegreeReason  string          `json:"degree_reason"`
	Coefficients  []float64       `json:"coefficients"`
	CoefficientSD []float64       `json:"coefficient_sd"`
	Covariance    [][]float64     `json:"covariance"`
	ResidualSD    float64         `json:"residual_sd_N"`
	RSquared      float64         `json:"r_squared"`
	LLF           float64         `json:"llf_N"`
	Points        int             `json:"points"`
	Uncertainty   float64         `json:"uncertainty_95_N"` // the largest within the range
	ByForce       []SureAt        `json:"uncertainty_by_force"`
	Reading       [2]float64      `json:"reading_range"`
	Monotone      bool            `json:"monotone"`
	LackOfFit     *float64        `json:"lack_of_fit_p"` // null where no force was applied twice
	Loading       []LoadingRecord `json:"loading_ranges"`
	ISO376        ISO376Record    `json:"iso_376"`
	Remarks       []string        `json:"remarks"`
}

// SureAt is half the width of the 95 % interval at a force, from the points
// alone.
type SureAt struct {
	Force  float64 `json:"force_N"`
	Half95 float64 `json:"half_width_95_N"`
}

// LoadingRecord is a loading range of ASTM E74.
type LoadingRecord struct {
	Class   string  `json:"class"`
	Low     float64 `json:"low_N"`
	High    float64 `json:"high_N"`
	Reached bool    `json:"reached"`
}

// ISO376Record has errors in percent, null where the series allows none.
type ISO376Record struct {
	Repeatability   *float64 `json:"repeatability_percent"`
	Reproducibility *float64 `json:"reproducibility_percent"`
	Interpolation   *float64 `json:"interpolation_percent"`
	Zero            *float64 `json:"zero_percent"`
	Reversibility   *float64 `json:"reversibility_percent"`
	Resolution      *float64 `json:"resolution_percent"`
	Class           string   `json:"class"` // empty: none
	Missing         []string `json:"missing"`
	Limits          string   `json:"limits"`
}

// sureSteps is at how many steps over the range the uncertainty is recorded.
const sureSteps = 10

// Record sums the fit up. The reason is that for its degree; step is one step
// of the reading, 0 where it is not known.
func (f Fit) Record(reason string, step float64) Record {
	e := f.RelativeErrors(step)
	r := Record{
		Degree: f.Degree(), DegreeReason: reason, Coefficients: f.Coefficients, CoefficientSD: f.CoefficientSD(),
		Covariance: f.Covariance, ResidualSD: float64(f.ResidualSD), RSquared: f.RSquared, LLF: float64(f.LLF(step)),
		Points: len(f.Points), Uncertainty: float64(f.Absolute95()), Monotone: f.Monotone(), Remarks: f.remarks(),
		ISO376: ISO376Record{
			Repeatability: e.Repeatability, Reproducibility: e.Reproducibility, Interpolation: e.Interpolation, Zero: e.Zero,
			Reversibility: e.Reversibility, Resolution: e.Resolution, Class: e.Class,
			Missing: append([]string{}, e.Missing...), Limits: words.Say("calibrate.iso.limits"),
		},
	}
	r.Reading[0], r.Reading[1] = f.Readings()
	for i := range sureSteps + 1 {
		x := f.low + (f.high-f.low)*float64(i)/sureSteps
		r.ByForce = append(r.ByForce, SureAt{float64(f.Force(x)), float64(f.Uncertainty95(x))})
	}
	if f.Lack != nil {
		r.LackOfFit = &f.Lack.P
	}
	for _, l := range f.LoadingRanges(step) {
		r.Loading = append(r.Loading, LoadingRecord{l.Class, float64(l.Low), float64(l.High), l.Reached})
	}
	return r
}

func (f Fit) remarks() []string {
	low, high := f.Readings()
	out := []string{words.Say("calibrate.remark.outside", low, high)}
	if n := len(f.Points); n < LeastPointsE74 {
		out = append(out, words.Count("calibrate.remark.few", n, LeastPointsE74))
	}
	if !f.Monotone() {
		out = append(out, words.Say("calibrate.remark.turns"))
	}
	if f.Misfit() {
		out = append(out, words.Say("calibrate.remark.misfit"))
	}
	return out
}

// Range gives the lowest and the largest of the known forces.
func (f Fit) Range() (low, high unit.Force) {
	low, high = f.Points[0].Force, f.Points[0].Force
	for _, p := range f.Points {
		low, high = min(low, p.Force), max(high, p.Force)
	}
	return low, high
}
