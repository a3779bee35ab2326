package calibrate

import (
	"math"

	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Check is the reading of a cell under nothing or a known load, held against
// its calibration. Nothing is corrected by it.
type Check struct {
	At      int64      `json:"at"`                 // ns UTC
	Known   unit.Force `json:"known"`              // 0: the line is slack
	Known95 unit.Force `json:"known_95,omitempty"` // half the width of its 95 % interval; 0: not known
	Reading float64    `json:"reading"`            // mean of the steady readings
	SD      float64    `json:"sd"`
	Count   int        `json:"count"`
	Zero    *float64   `json:"zero,omitempty"` // reading of the slack line that was taken off; nil: none
	Who     string     `json:"who"`

	Calibration int         `json:"calibration"` // number; 0: the curve of the set-up
	Force       unit.Force  `json:"force"`       // by the calibration
	Half95      *unit.Force `json:"half_95"`     // half the width of its 95 % interval, with that of the load; nil: not known
}

// Check holds a steady reading under a known force against the calibration. A
// slack line is held against the zero of the calibration itself, whatever zero
// was set since. Under a load the reading of the slack line is taken off, nil
// where it is not known.
func (f *InForce) Check(s Steadiness, known, known95 unit.Force, zero *float64) Check {
	c := Check{At: s.To, Known: known, Known95: known95, Reading: s.Mean, SD: s.SD, Count: s.Count, Calibration: f.Number()}
	c.Force = f.Curve.Force(s.Mean) + f.off
	half, ok := f.Half95(c.Force - f.off)
	if known > 0 && zero != nil {
		c.Zero = zero
		c.Force -= f.Curve.Force(*zero) + f.off
	}
	if ok {
		half = unit.Force(math.Hypot(float64(half), float64(known95)))
		c.Half95 = &half
	}
	return c
}

// Off is by how much the cell reads too high.
func (c Check) Off() unit.Force { return c.Force - c.Known }

// Fault tells that the cell is off by more than its calibration allows.
func (c Check) Fault() bool {
	return c.Half95 != nil && math.Abs(float64(c.Off())) > float64(*c.Half95)
}

// Says tells a check for people.
func (c Check) Says(u unit.ForceUnit) string {
	finest := math.Abs(float64(c.Off()))
	if c.Half95 != nil && *c.Half95 > 0 {
		finest = float64(*c.Half95)
	}
	step := unit.Force(math.Pow(10, math.Floor(math.Log10(math.Max(1, finest/10))))) // two digits of it
	off := c.Off().Show(u, step)
	what := words.Say("calibrate.check.slack", off)
	if c.Known > 0 {
		what = words.Say("calibrate.check.under", c.Known.Show(u, step), c.Force.Show(u, step), off)
	}
	switch {
	case c.Half95 == nil:
		return what + " " + words.Say("calibrate.check.unsure")
	case c.Fault():
		return what + " " + words.Say("calibrate.check.beyond", c.Half95.Show(u, step))
	}
	return what + " " + words.Say("calibrate.check.within", c.Half95.Show(u, step))
}
