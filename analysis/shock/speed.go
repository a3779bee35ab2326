package shock

import (
	"cmp"
	"math"
	"slices"

	"tautlog/analysis/pull"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// SpeedFit is what kinetic pulls of known speed tell of straps and grounds, by
// the two-body model of calc/kinetic with a linear line, no loss and no drive
// after the line is taut. Peaks that are only known to lie in an interval, or
// to be no lower than the reading, count as that; pulls of one day share an
// effect. What is unknown is described by a few thousand draws of its
// posterior distribution, which TestSpeedClubs holds to what they promise.
type SpeedFit struct {
	Straps  []Coefficient // stiffness · length / breaking strength, one a strap
	Grounds []Coefficient // resistance / weight of the stuck vehicle, one a ground
	Pulls   int
	Days    int
	// Spread is the standard deviation of the logarithm of the peak about the
	// model, for pulls of any day.
	Spread float64

	used []Pull
	u    unknowns
	best []float64 // logarithms of the coefficients
	all  []draw
}

// Coefficient is one unknown of the speed fit.
type Coefficient struct {
	Name  string
	Pulls int
	Value float64
	// Low to High holds it with 95 % confidence. Both are nil where there are
	// too few days for that. Only High is nil of a ground where the pulls leave
	// it open whether any vehicle moved before the peak: it is Low at least.
	Low, High *float64
	// Still says of a ground that by the fit no vehicle moved before the peak:
	// the value is only what it was at least.
	Still bool
}

const (
	fewestDays = 5 // for intervals and bounds
	spare      = 3 // pulls more than unknowns
)

// FitSpeed fits the kinetic pulls of which speed, both masses, length and
// strength of the strap are known, and lists the other kinetic ones. Without
// any speed there is neither a fit nor a list; with too few pulls for so many
// straps and grounds there is a list only.
func FitSpeed(pulls []Pull) (*SpeedFit, []LeftOut) { return fitSpeedUntil(nil, pulls) }

// fitSpeedUntil is FitSpeed that gives up when done is closed.
func fitSpeedUntil(done <-chan struct{}, pulls []Pull) (*SpeedFit, []LeftOut) {
	var use []Pull
	var out []LeftOut
	known, closed := false, 0
	for _, p := range pulls {
		if p.Class.Kind != pull.Kinetic || p.Problem() != "" {
			continue
		}
		known = known || p.Speed > 0
		if why := p.withoutSpeed(); why != "" {
			out = append(out, LeftOut{p, why})
			continue
		}
		use = append(use, p)
		if !p.open() {
			closed++
		}
	}
	if !known {
		return nil, nil
	}
	if closed >= unknownsOf(use).count()+spare {
		if m, ok := fitSpeed(done, use); ok {
			return m.result(use), out
		}
	}
	for _, p := range use {
		out = append(out, LeftOut{p, words.Say("shock.speed.few.terms")})
	}
	return nil, out
}

// withoutSpeed says what is missing for the speed fit, or nothing.
func (p Pull) withoutSpeed() string {
	switch {
	case !(p.Speed > 0):
		return words.Say("shock.missing.speed")
	case !(p.Puller > 0):
		return words.Say("shock.missing.puller")
	case !(p.StrapLength > 0):
		return words.Say("shock.missing.length")
	case !(p.StrapMBS > 0):
		return words.Say("shock.missing.strength")
	}
	return ""
}

// result makes of the fitted model what is told of it.
func (m *speedModel) result(pulls []Pull) *SpeedFit {
	f := &SpeedFit{Pulls: len(pulls), Days: len(m.days), used: pulls, u: m.unknowns, all: m.draws()}
	f.settle()
	f.Spread = quantile(f.all, 0.5, func(d draw) float64 { return d.spread })
	for name, i := range f.u.straps {
		f.Straps = append(f.Straps, f.coefficient(name, i))
	}
	for name, i := range f.u.grounds {
		f.Grounds = append(f.Grounds, f.ground(name, len(f.u.straps)+i))
	}
	byName := func(a, b Coefficient) int { return cmp.Compare(a.Name, b.Name) }
	slices.SortFunc(f.Straps, byName)
	slices.SortFunc(f.Grounds, byName)
	return f
}

// settle takes the mean of the draws for what is expected. A ground that held
// in each pull by half of the draws or more is taken to have held, and then
// only draws that have it so count for the rest.
func (f *SpeedFit) settle() {
	f.best = make([]float64, f.u.count())
	for i := range f.best {
		f.best[i] = quantile(f.all, 0.5, func(d draw) float64 { return d.coefficients[i] })
	}
	agree := func(d draw) bool {
		for i, c := range d.coefficients {
			if math.IsInf(c, 1) != math.IsInf(f.best[i], 1) {
				return false
			}
		}
		return true
	}
	sum, total := make([]float64, len(f.best)), 0.0
	for _, d := range f.all {
		if agree(d) {
			total += d.weight
			for i, c := range d.coefficients {
				sum[i] += d.weight * c
			}
		}
	}
	if total > 0 {
		for i, s := range sum {
			f.best[i] = s / total
		}
	}
}

// coefficient is the i-th unknown.
func (f *SpeedFit) coefficient(name string, i int) Coefficient {
	c := Coefficient{Name: name, Value: math.Exp(f.best[i])}
	for _, s := range f.u.swings {
		if s.strap == i || len(f.u.straps)+s.ground == i {
			c.Pulls++
		}
	}
	if f.Days >= fewestDays {
		tail := (1 - Confidence) / 2
		at := func(p float64) float64 {
			return math.Exp(quantile(f.all, p, func(d draw) float64 { return d.coefficients[i] }))
		}
		low, high := math.Min(at(tail), c.Value), math.Max(at(1-tail), c.Value)
		c.Low, c.High = &low, &high
	}
	return c
}

// ground is the i-th unknown, which is a ground.
func (f *SpeedFit) ground(name string, i int) Coefficient {
	c := f.coefficient(name, i)
	if c.Still = math.IsInf(c.Value, 1); c.Still {
		c.Value, c.Low, c.High = hardest(f.used, name), nil, nil
	} else if c.High != nil && math.IsInf(*c.High, 1) {
		c.High = nil
	}
	return c
}

// hardest is the largest factor of the pulls on a ground.
func hardest(pulls []Pull, ground string) (most float64) {
	for _, p := range pulls {
		if p.Class.Ground == ground {
			most = math.Max(most, p.Factor())
		}
	}
	return most
}

// Peak is the peak that the model expects of a planned pull, of which speed,
// masses, strap and ground are given, and the bound that 95 % of such pulls
// stay below with 95 % confidence, whatever day they are on; nil where there
// are too few days for one. It is an error where the fit knows nothing of the
// strap or the ground. Ground on which no vehicle moved is taken to hold at any
// speed.
func (f *SpeedFit) Peak(p Pull) (expected unit.Force, upper *unit.Force, err error) {
	if why := p.withoutSpeed(); why != "" || !(p.Reference > 0) {
		return 0, nil, words.Error("shock.next.unplannable", cmp.Or(why, words.Say("shock.missing.reference")))
	}
	strap, known := f.u.straps[p.Class.Strap]
	ground, too := f.u.grounds[p.Class.Ground]
	if !known || !too {
		return 0, nil, words.Error("shock.speed.nopull", p.Class.Strap, p.Class.Ground)
	}
	s := p.swing(strap, ground)
	ground += len(f.u.straps)
	weight := p.Reference.Weight()
	expected = unit.Force(math.Exp(s.peak(f.best[strap], f.best[ground]))) * weight
	if f.Days >= fewestDays {
		z := normalQuantile(Content)
		bound := quantile(f.all, Confidence, func(d draw) float64 {
			return s.peak(d.coefficients[strap], d.coefficients[ground]) + z*d.spread
		})
		u := unit.Force(math.Exp(bound)) * weight
		upper = &u
	}
	return expected, upper, nil
}
