package shock

import (
	"math"

	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// FactorInterval is where the true shock factor of one pull lies in 95 of 100 cases.
type FactorInterval struct {
	Low  float64
	High float64 // +Inf where the peak is only a lower bound
	// OfMass tells whether how well the reference mass is known is in it; else
	// the interval is that of the peak alone.
	OfMass bool
}

// Known tells whether there is an interval at all.
func (r FactorInterval) Known() bool { return r.Low < r.High }

// FactorInterval is the 95 % interval of the shock factor: of the peak, and of the
// reference mass where it is known how well that is known.
//
// Of a product or quotient the relative variances add (JCGM 100:2008, 5.1.6,
// the clause from memory), here as squares of half widths of logarithms, in
// which a quotient is a difference however wide its parts are. The peak counts
// to each side with what it has on that side, as in its own budget, since it is
// often higher and rarely lower; the mass from the middle of its interval (the
// best estimate from two limits, 4.3.7).
//
// The fits do not use the mass's part. A mass that is stated wrongly is so in
// all pulls of that vehicle, so that it is no blur of single pulls, which they
// take an interval for; and plans multiply the weight that is stated in the same
// way, so that the spread it brings belongs in the bound.
func (p Pull) FactorInterval() FactorInterval {
	low, high := p.interval()
	if p.ReferenceHigh == 0 {
		return FactorInterval{math.Exp(low), math.Exp(high), false}
	}
	factor := math.Log(p.Factor())
	middle := (math.Log(p.relativeTo(p.ReferenceLow)) + math.Log(p.relativeTo(p.ReferenceHigh))) / 2
	half := math.Log(float64(p.ReferenceHigh/p.ReferenceLow)) / 2
	return FactorInterval{
		Low:    math.Exp(math.Min(factor, middle-math.Hypot(factor-low, half))),
		High:   math.Exp(math.Max(factor, middle+math.Hypot(high-factor, half))),
		OfMass: true,
	}
}

// massInside tells whether the interval of the reference mass, where there is
// one, is about it.
func (p Pull) massInside() bool {
	if p.ReferenceLow == 0 && p.ReferenceHigh == 0 {
		return true
	}
	return p.ReferenceLow > 0 && p.ReferenceLow <= p.Reference && p.Reference <= p.ReferenceHigh && !math.IsInf(float64(p.ReferenceHigh), 1)
}

// Times is the shock factor with its interval, for people: "2.4 times (true
// factor 2.2 to 2.7)".
func (p Pull) Times() string {
	between := p.FactorInterval()
	return unit.ShowTimes(words.Say("shock.true-factor"), p.Factor(), between.Low, between.High)
}

// SureOfMass says for people whether the interval of the factor holds how well
// the mass is known; nothing where there is no interval.
func (p Pull) SureOfMass() string {
	switch between := p.FactorInterval(); {
	case math.IsInf(between.High, 1) || !between.Known():
		return ""
	case between.OfMass:
		return words.Say("shock.interval.mass", p.ReferenceLow, p.ReferenceHigh)
	}
	return words.Say("shock.interval.peak")
}
