package shock

import (
	"math"
	"strings"

	"tautlog/calc/words"
)

// Planning is what a set says of the multiplier of a class.
type Planning struct {
	// Median is what half of such pulls stay below; nil where it is assumed.
	Median *float64 `json:"median"`
	// Upper is the multiplier to plan with: the 95/95 bound of the fit, or the
	// one that is assumed.
	Upper  float64 `json:"upper"`
	Fitted bool    `json:"fitted"` // from pulls; false: assumed
	Pooled bool    `json:"pooled"` // see ClassFit
	Pulls  int     `json:"pulls"`  // of the class, behind it
	Days   int     `json:"days"`
	// Text says for people where it is from.
	Text string `json:"text"`
}

// Multiplier is what to plan with for a class, by the frozen numbers. Ground
// and strap are compared without regard to capitals. It is false where the set
// does not speak of the class, or has too few pulls of it for a bound.
//
// Of several assumptions that fit, the one that names most of the class counts,
// and of those the largest.
func (k Kept) Multiplier(c Class) (Planning, bool) {
	if k.Fit != nil {
		for _, f := range k.Fit.Classes {
			if f.Upper != nil && same(f.ClassName, c.Name()) {
				return k.fitted(f), true
			}
		}
	}
	best, names := Assumption{}, -1
	for _, a := range k.Assumed {
		n, ok := a.Class.covers(c.Name())
		if ok && (n > names || n == names && a.Multiplier > best.Multiplier) {
			best, names = a, n
		}
	}
	if names < 0 {
		return Planning{}, false
	}
	return Planning{Upper: best.Multiplier, Text: words.Say("shock.assumed-not-measured", best.Source, k.Label())}, true
}

func (k Kept) fitted(f ClassRecord) Planning {
	median := f.Median
	p := Planning{Median: &median, Upper: *f.Upper, Fitted: true, Pooled: f.Pooled, Pulls: f.Pulls, Days: f.Days}
	p.Text = words.Say("shock.fitted", words.Count("shock.pulls", f.Pulls), words.Count("shock.days", f.Days), k.Label())
	if f.Note != "" {
		p.Text = words.Say("shock.also", p.Text, f.Note)
	}
	return p
}

func same(a, b ClassName) bool {
	return a.Kind == b.Kind && strings.EqualFold(a.Ground, b.Ground) && strings.EqualFold(a.Strap, b.Strap)
}

// covers tells whether an assumption for n, in which empty is any, speaks of
// the class c, and how much of it n names.
func (n ClassName) covers(c ClassName) (named int, ok bool) {
	for _, part := range [][2]string{{string(n.Kind), string(c.Kind)}, {n.Ground, c.Ground}, {n.Strap, c.Strap}} {
		if part[0] == "" {
			continue
		}
		if !strings.EqualFold(part[0], part[1]) {
			return 0, false
		}
		named++
	}
	return named, true
}

// Speed is the speed fit of the set, fitted again from the frozen pulls, since
// a bound for a planned speed needs more than the frozen coefficients. It is
// nil where there is none. Refit also says whether it is still the frozen one.
func (k Kept) Speed() *SpeedFit {
	if k.again != nil {
		return k.again.speed
	}
	f, _ := FitSpeed(k.Pulls)
	return f
}

// drift is by how much a refit may differ from what was frozen before it is
// said; common practice, no source.
const drift = 0.01

// Refit fits the frozen pulls again with this program, and remarks on every
// number that differs from the frozen one by more than 1 %: another version of
// the program may fit otherwise. The frozen numbers stay those to plan with.
func (k Kept) Refit() (*SpeedFit, []string) {
	if k.Fit == nil {
		return nil, nil
	}
	if k.again == nil {
		k = k.With(fitted(k.Pulls))
	}
	return k.again.speed, k.again.drift
}

// drifts collects what differs in a refit.
type drifts struct {
	label   string
	is      []ClassRecord // by this program
	remarks []string
}

func (d *drifts) compare(what string, was, is *float64) {
	switch {
	case was == nil && is == nil:
	case was == nil || is == nil:
		d.say(words.Say("shock.frozen.one", what))
	case math.Abs(*is-*was) > drift*math.Abs(*was):
		d.say(words.Say("shock.frozen.differs", what, *was, *is))
	}
}

func (d *drifts) say(what string) {
	d.remarks = append(d.remarks, words.Say("shock.drift", d.label, what))
}

func (d *drifts) classes(was []ClassRecord) {
	for _, a := range was {
		var median, upper *float64
		for _, c := range d.is {
			if c.ClassName == a.ClassName {
				median, upper = &c.Median, c.Upper
			}
		}
		d.compare(words.Say("shock.drift.median", Class(a.ClassName)), &a.Median, median)
		d.compare(words.Say("shock.drift.bound", Class(a.ClassName)), a.Upper, upper)
	}
}

func (d *drifts) speed(was, is *SpeedRecord) {
	if was == nil && is == nil {
		return
	}
	if was == nil || is == nil {
		d.say(words.Say("shock.frozen.speed.one"))
		return
	}
	d.compare(words.Say("shock.spread.speed"), &was.Spread, &is.Spread)
	d.coefficients("stiffness", was.Straps, is.Straps)
	d.coefficients("resistance", was.Grounds, is.Grounds)
}

func (d *drifts) coefficients(what string, was, is []CoefficientRecord) {
	value := func(of []CoefficientRecord, name string) *float64 {
		for _, c := range of {
			if c.Name == name {
				return &c.Value
			}
		}
		return nil
	}
	for _, c := range was {
		d.compare(words.Say("shock.drift."+what, c.Name), &c.Value, value(is, c.Name))
	}
	for _, c := range is {
		if value(was, c.Name) == nil {
			d.compare(words.Say("shock.drift."+what, c.Name), nil, &c.Value)
		}
	}
}
