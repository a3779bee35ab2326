package calibrate

import (
	"fmt"
	"math"
	"time"

	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// ErrKept says that a calibration cannot be kept as it is.
var ErrKept error = words.Kind("calibrate.kept")

// Kept is a calibration of one cell as it is kept: what was measured, what
// followed, what its certificate says, and from when on it holds. One that is
// kept does not change: a correction is another one.
type Kept struct {
	Number int    `json:"number"` // from 1 for each cell
	From   string `json:"from"`   // RFC 3339: from when on it holds
	Made   string `json:"made"`   // RFC 3339: when it was kept
	Who    string `json:"who"`
	Note   string `json:"note,omitempty"`
	// Repeats is the number of the one that was chosen again by this one; 0:
	// it is new.
	Repeats int `json:"repeats,omitempty"`

	Curve  Curve   `json:"curve"`            // without an uncertainty of its own
	Step   float64 `json:"step,omitempty"`   // one step of the reading; 0: not known
	Points []Point `json:"points,omitempty"` // none: the curve is the certificate's
	Fit    *Record `json:"fit,omitempty"`    // nil without points

	Certificate *Certificate `json:"certificate,omitempty"`
}

// Keep makes of a fit what is to be kept. The reason is that for its degree.
func Keep(f Fit, reason string, step float64) Kept {
	r := f.Record(reason, step)
	return Kept{Curve: Curve{Coefficients: f.Coefficients}, Step: step, Points: f.Points, Fit: &r}
}

// Check refuses what cannot be kept: a curve that is none, that turns around
// within its points or is not that of its points, a moment that is none, and
// a curve without points or certificate to rest on.
func (k Kept) Check() error {
	if err := k.Curve.Validate(); err != nil {
		return fmt.Errorf("%w: %w", ErrKept, err)
	}
	if _, err := time.Parse(time.RFC3339, k.From); err != nil {
		return words.Error("calibrate.kept.from", ErrKept, k.From)
	}
	if k.Certificate != nil {
		if err := k.Certificate.check(); err != nil {
			return err
		}
	}
	switch {
	case k.Curve.Relative95 != 0:
		return words.Error("calibrate.kept.belongs", ErrKept)
	case len(k.Points) == 0 && (k.Certificate == nil || k.Certificate.Number == ""):
		return words.Error("calibrate.kept.number", ErrKept)
	}
	fit, err := k.refit()
	if err != nil {
		return fmt.Errorf("%w: %w", ErrKept, err)
	}
	if fit != nil && !fit.Monotone() {
		return words.Error("calibrate.kept.turns", ErrKept)
	}
	return nil
}

// since is the moment from which on it holds, ns UTC.
func (k Kept) since() int64 {
	t, err := time.Parse(time.RFC3339, k.From)
	if err != nil {
		return math.MaxInt64 // Check has refused it
	}
	return t.UnixNano()
}

// refit makes the fit again, which its uncertainty needs; nil without points.
// It must give the curve that was kept.
func (k Kept) refit() (*Fit, error) {
	if len(k.Points) == 0 {
		return nil, nil
	}
	f, err := FitCurve(k.Points, len(k.Curve.Coefficients)-1)
	if err != nil {
		return nil, err
	}
	for _, x := range []float64{f.low, f.middle(), f.high} {
		most := max(1e-6, 1e-8*math.Abs(float64(f.Force(f.high)-f.Force(f.low))))
		if math.Abs(float64(f.Force(x)-k.Curve.Force(x))) > most {
			return nil, words.Error("calibrate.kept.other", k.Curve.Force(x), f.Force(x), x)
		}
	}
	return &f, nil
}

// Forces gives the forces between which it was calibrated: those of its
// points, else of its certificate. It is false where none are known.
func (k Kept) Forces() (low, high unit.Force, ok bool) {
	switch {
	case len(k.Points) > 0:
		low, high = Fit{Points: k.Points}.Range()
	case k.Certificate != nil:
		low, high = k.Certificate.Low, k.Certificate.High
	}
	return low, high, high > 0
}

// Label names it for people.
func (k Kept) Label() string {
	if k.Certificate != nil && k.Certificate.Number != "" {
		return words.Say("calibrate.label.certificate", k.Number, k.Certificate.Number)
	}
	return words.Say("calibrate.label.none", k.Number)
}
