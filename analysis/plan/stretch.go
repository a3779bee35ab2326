package plan

import (
	"strings"

	"tautlog/analysis/shock"
	"tautlog/calc/kinetic"
	"tautlog/calc/words"
)

// Stretch is how a strap stretches by the pulls behind a set.
type Stretch struct {
	// Strap is what the set calls it.
	Strap string
	// Elongation is the part of its length by which it stretches at its breaking
	// strength: the reciprocal of its coefficient (see shock.CoefficientRecord).
	Elongation float64
	// Pulls is how many pulls tell of it, Set what their set is called.
	Pulls int
	Set   string
}

// String says it in words.
func (s Stretch) String() string {
	return words.Count("forecast.stretch", s.Pulls, 100*s.Elongation, shock.StrapName(s.Strap), s.Set)
}

// KnownStretch is what the set to plan with knows of the strap's stretch, by
// the numbers that it froze. It is false where the set has no pulls of known
// speed with that strap.
func (k Kinetic) KnownStretch() (Stretch, bool) {
	var names []string
	switch {
	case k.Strap != "":
		names = []string{k.Strap}
	case k.Rig != nil:
		if p, ok := k.Rig.Stretching(); ok {
			names = []string{p.Use.Item.Name, string(p.Use.Item.Kind)}
		}
	}
	for _, name := range names {
		for _, c := range Stretches(k.With) {
			if strings.EqualFold(c.Name, name) {
				return Stretch{c.Name, 1 / c.Value, c.Pulls, k.With.Label()}, true
			}
		}
	}
	return Stretch{}, false
}

// Stretches are the straps of which a set knows how they stretch.
func Stretches(k shock.Kept) (known []shock.CoefficientRecord) {
	if k.Fit == nil || k.Fit.Speed == nil {
		return nil
	}
	for _, c := range k.Fit.Speed.Straps {
		if c.Value > 0 {
			known = append(known, c)
		}
	}
	return known
}

// stretchOfSet takes the strap's stretch from the set where neither the plan nor
// the rig tells it, and says so. It is a share of the length at the breaking
// strength, and so says nothing where one of these is not known.
func (k *Kinetic) stretchOfSet() []string {
	s := &k.Plan.Strap
	if told(*s) || s.Length == 0 || s.MBS == 0 || s.At != 0 {
		return nil
	}
	known, ok := k.KnownStretch()
	if !ok {
		return nil
	}
	s.Elongation = known.Elongation
	return []string{words.Say("forecast.strap.stretch", known, kinetic.Secant(s.MBS, s.Elongation, s.Length))}
}
