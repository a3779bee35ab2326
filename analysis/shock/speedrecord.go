package shock

import (
	"tautlog/calc/words"
)

// SpeedRecord is the speed fit in the form that leaves the program as JSON.
type SpeedRecord struct {
	Straps  []CoefficientRecord `json:"straps"`
	Grounds []CoefficientRecord `json:"grounds"`
	Pulls   int                 `json:"pulls"`
	Days    int                 `json:"days"`
	Spread  float64             `json:"residual_sd_log"`
	LeftOut []LeftOutRecord     `json:"left_out"`
	Note    string              `json:"note"`
}

// CoefficientRecord is an unknown of the speed fit as JSON: the stiffness
// times the length over the breaking strength of a strap, or the resistance
// over the weight of what is stuck on a ground. The limits are null where
// there are too few days, and where nothing moved; the upper one alone is null
// where the pulls leave open whether anything moved.
type CoefficientRecord struct {
	Name  string   `json:"name"`
	Pulls int      `json:"pulls"`
	Value float64  `json:"value"`
	Low   *float64 `json:"low_95"`
	High  *float64 `json:"high_95"`
	Still bool     `json:"nothing_moved"`
}

// Words says the value and how sure it is.
func (c CoefficientRecord) Words() string {
	switch {
	case c.Still:
		return words.Say("shock.moved.nothing", c.Value)
	case c.Low == nil:
		return words.Say("shock.few.days", c.Value)
	case c.High == nil:
		return words.Say("shock.moved.open", c.Value, *c.Low)
	}
	return words.Say("shock.interval", c.Value, *c.Low, *c.High)
}

// Stretch says the stiffness of a strap as how far one of that stiffness
// stretches up to its breaking strength, which is what its maker prints: the
// reciprocal of the value, since the stiffness is the breaking strength over
// the length times that share.
func (c CoefficientRecord) Stretch() string {
	return words.Say("shock.stretch.equal", 100/c.Value)
}

// speedNote is what to know of every speed fit.
func speedNote() string { return words.Say("shock.speed-note") }

// RecordSpeed gives the result of FitSpeed in the form that leaves the
// program; nil where no speed is known.
func RecordSpeed(f *SpeedFit, out []LeftOut) *SpeedRecord {
	if f == nil && len(out) == 0 {
		return nil
	}
	r := &SpeedRecord{Straps: []CoefficientRecord{}, Grounds: []CoefficientRecord{}, LeftOut: []LeftOutRecord{}, Note: speedNote()}
	for _, l := range out {
		r.LeftOut = append(r.LeftOut, l.record())
	}
	if f == nil {
		return r
	}
	r.Pulls, r.Days, r.Spread = f.Pulls, f.Days, f.Spread
	for _, c := range f.Straps {
		r.Straps = append(r.Straps, CoefficientRecord(c))
	}
	for _, c := range f.Grounds {
		r.Grounds = append(r.Grounds, CoefficientRecord(c))
	}
	return r
}
