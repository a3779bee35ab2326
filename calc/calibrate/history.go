package calibrate

import (
	"cmp"
	"iter"
	"math"
	"slices"

	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// History is how the readings of one cell become force, over time.
type History struct {
	stretches []InForce // without a gap, from the beginning of time on
}

// InForce is what holds for a cell over a stretch of time.
type InForce struct {
	From, Until int64 // ns UTC; Until itself is left out
	Curve       Curve // newtons from readings, with Zero taken off
	Kept        *Kept // nil: the curve that the cell was set up with
	Zero        *Zero // nil: none was set
	fit         *Fit
	off         unit.Force // what Zero takes off
}

// event is a moment at which something else comes into force.
type event struct {
	at   int64
	kept *Kept
	zero *Zero
}

// NewHistory makes the history of a cell from the curve that it was set up
// with, its calibrations and its zeros. At each moment the calibration holds
// that came into force last; of several from the same moment the one with the
// highest number, which corrects the others. Before the first it is the curve
// of the set-up. Likewise the last zero holds.
func NewHistory(setUp Curve, kept []Kept, zeros []Zero) (*History, error) {
	var events []event
	for _, k := range kept {
		events = append(events, event{at: k.since(), kept: &k})
	}
	slices.SortFunc(events, func(a, b event) int { return cmp.Compare(a.kept.Number, b.kept.Number) })
	for _, z := range zeros {
		events = append(events, event{at: z.At, zero: &z})
	}
	slices.SortStableFunc(events, func(a, b event) int { return cmp.Compare(a.at, b.at) })
	h := &History{stretches: []InForce{{From: math.MinInt64, Until: math.MaxInt64, Curve: setUp}}}
	base := setUp
	for _, e := range events {
		last := &h.stretches[len(h.stretches)-1]
		next := *last
		next.From = e.at
		if e.kept != nil {
			fit, err := e.kept.refit()
			if err != nil {
				return nil, words.Error("calibrate.history", e.kept.Number, err)
			}
			base, next.Kept, next.fit = e.kept.Curve, e.kept, fit
		} else {
			next.Zero = e.zero
		}
		next.takeOff(base)
		if last.From == next.From {
			*last = next
			continue
		}
		last.Until = next.From
		h.stretches = append(h.stretches, next)
	}
	return h, nil
}

// takeOff puts the zero into a calibration's curve.
func (f *InForce) takeOff(base Curve) {
	f.Curve, f.off = base, 0
	if f.Zero != nil && len(base.Coefficients) > 0 {
		f.off = base.Force(f.Zero.Reading)
		f.Curve.Coefficients = slices.Clone(base.Coefficients)
		f.Curve.Coefficients[0] -= float64(f.off)
	}
}

// At gives what is in force at a moment, ns UTC.
func (h *History) At(at int64) *InForce {
	i, found := slices.BinarySearchFunc(h.stretches, at, func(f InForce, at int64) int { return cmp.Compare(f.From, at) })
	if !found {
		i--
	}
	return &h.stretches[max(0, i)]
}

// All gives what was in force, one stretch after the other, from the beginning
// of time on.
func (h *History) All() iter.Seq[InForce] { return slices.Values(h.stretches) }

// Number is that of the calibration in force, 0 for the curve of the set-up.
func (f *InForce) Number() int {
	if f.Kept == nil {
		return 0
	}
	return f.Kept.Number
}

// Off is the force that the zero takes off, by the calibration in force.
func (f *InForce) Off() unit.Force { return f.off }

// Half95 is half the width of the 95 % interval of a force, from what the
// points show at its reading and, on top, what the certificate states (squares
// add, JCGM 100:2008, 5.1.2). It is false where nothing is known.
func (f *InForce) Half95(force unit.Force) (unit.Force, bool) {
	force += f.off
	if f.Kept == nil {
		return unit.Force(f.Curve.Relative95 * math.Abs(float64(force))), f.Curve.Relative95 > 0
	}
	stated, known := 0.0, false
	if c := f.Kept.Certificate; c != nil && (c.Relative95 > 0 || c.Absolute95 > 0) {
		stated, known = math.Hypot(c.Relative95*float64(force), float64(c.Absolute95)), true
	}
	if f.fit == nil {
		return unit.Force(stated), known
	}
	reading, ok := f.Kept.Curve.Reading(force)
	if !ok {
		return 0, false // the curve does not reach that far
	}
	return unit.Force(math.Hypot(float64(f.fit.Uncertainty95(reading)), stated)), true
}

// Beyond tells that a force is above the largest at which the cell was
// calibrated, by more than a hundredth of it.
func (f *InForce) Beyond(force unit.Force) (largest unit.Force, beyond bool) {
	if f.Kept == nil {
		return 0, false
	}
	_, largest, ok := f.Kept.Forces()
	return largest, ok && force+f.off > largest*101/100
}
