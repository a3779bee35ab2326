package shock

import (
	"slices"

	"tautlog/calc/words"
)

// Difference is what two sets say of one class.
type Difference struct {
	ClassName
	A     *Planning `json:"a"` // null: it does not speak of the class
	B     *Planning `json:"b"`
	Ratio *float64  `json:"ratio"` // what b plans with over what a does
	Words string    `json:"words"`
}

// Compare lists, by kind, ground and strap, what two sets say of each class
// that either of them was fitted for, and of each that is assumed in either
// and fitted in neither.
func Compare(a, b Kept) []Difference {
	var classes []ClassName
	add := func(n ClassName) {
		if !slices.ContainsFunc(classes, func(c ClassName) bool { return same(c, n) }) {
			classes = append(classes, n)
		}
	}
	for _, k := range []Kept{a, b} {
		if k.Fit != nil {
			for _, f := range k.Fit.Classes {
				add(f.ClassName)
			}
		}
	}
	fitted := slices.Clone(classes)
	for _, s := range append(slices.Clone(a.Assumed), b.Assumed...) {
		if !slices.ContainsFunc(fitted, func(c ClassName) bool { _, ok := s.Class.covers(c); return ok }) {
			add(s.Class)
		}
	}
	slices.SortFunc(classes, func(a, b ClassName) int { return compare(Class(a), Class(b)) })
	out := make([]Difference, len(classes))
	for i, c := range classes {
		out[i] = difference(c, a, b)
	}
	return out
}

func difference(c ClassName, a, b Kept) Difference {
	d := Difference{ClassName: c}
	if p, ok := a.Multiplier(Class(c)); ok {
		d.A = &p
	}
	if p, ok := b.Multiplier(Class(c)); ok {
		d.B = &p
	}
	switch {
	case d.A == nil && d.B == nil:
		d.Words = words.Say("shock.few.either")
	case d.A == nil:
		d.Words = words.Say("shock.compare.second-only", a.Label(), b.Label(), d.B.Upper)
	case d.B == nil:
		d.Words = words.Say("shock.compare.first-only", a.Label(), d.A.Upper, b.Label())
	default:
		ratio := d.B.Upper / d.A.Upper
		d.Ratio, d.Words = &ratio, words.Say("shock.compare.both", a.Label(), d.A.Upper, b.Label(), d.B.Upper, change(ratio))
	}
	return d
}

// change says a ratio in words.
func change(ratio float64) string {
	switch percent := 100 * (ratio - 1); {
	case percent >= 0.5:
		return words.Say("shock.higher", percent)
	case percent <= -0.5:
		return words.Say("shock.lower", -percent)
	}
	return words.Say("shock.about-the-same")
}
