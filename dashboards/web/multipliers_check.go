package web

import (
	"maps"
	"slices"
	"strconv"

	"tautlog/analysis/pull"
	"tautlog/analysis/shock"
)

// checkView is the check of an assumed multiplier.
type checkView struct {
	Fields []entry
	Answer string // supported, contradicted, not decided
	Says   []string
}

// checked holds what was assumed in the form against what was fitted of the
// pulls of the set, or of those of the log where it has none; nil where that is
// not there, which is yet to come if coming. A form that nobody has filled in
// offers what is assumed.
func checked(f *sheet, fitted *shock.Fitted, coming bool, assumed shock.Kept) checkView {
	var v checkView
	var classes []shock.ClassFit
	if fitted != nil {
		classes = fitted.Set.Classes
	}
	times, given := quantity(f, "assume", "multiplier", plain, above)
	switch {
	case !given && f.q.Has("assume") && f.typed("assume") == "":
		f.refuse("assume", text("check.blank"))
	case !given:
	case fitted != nil && len(fitted.Set.Used) > 0:
		v.answer(fitted.Set.Check(times, f.chosenClass))
	case fitted == nil && coming:
		v.Says = []string{text("check.notyet")}
	default:
		v.Says = []string{text("check.nolog")}
	}
	if !f.q.Has("assume") {
		f.offer(assumed, classes)
	}
	v.Fields = f.set(
		entry{Name: "assume", Label: text("page.multipliers.check.assume"), Hint: text("page.multipliers.check.assume.hint")},
		anyOf(classes, "kind", text("page.multipliers.check.kind-of-pull"), func(c shock.Class) string { return string(c.Kind) }, func(kind string) string { return text("shock.kind." + kind) }),
		anyOf(classes, "ground", text("page.multipliers.check.ground"), func(c shock.Class) string { return c.Ground }, shock.GroundName),
		anyOf(classes, "strap", text("page.multipliers.check.strap"), func(c shock.Class) string { return c.Strap }, shock.StrapName),
	)
	return v
}

// offer fills in the first multiplier that a set assumes, for the pulls that it
// is assumed for, if there are such.
func (s *sheet) offer(k shock.Kept, classes []shock.ClassFit) {
	if len(k.Assumed) == 0 {
		return
	}
	a := k.Assumed[0]
	s.fill(map[string]string{"assume": strconv.FormatFloat(a.Multiplier, 'g', -1, 64)})
	for _, c := range classes {
		for name, is := range map[string][2]string{
			"kind": {string(a.Class.Kind), string(c.Class.Kind)}, "ground": {a.Class.Ground, c.Class.Ground}, "strap": {a.Class.Strap, c.Class.Strap},
		} {
			if is[0] == is[1] {
				s.fill(map[string]string{name: is[0]})
			}
		}
	}
}

func (v *checkView) answer(c shock.Checked) {
	if c.Pulls == 0 {
		v.Says = []string{text("check.none")}
		return
	}
	r := c.Record()
	v.Answer, v.Says = text("shock.answer."+string(r.Answer)), []string{r.Sentence}
	if r.Model != nil {
		v.Says = append(v.Says, r.Model.Sentence())
	}
}

func (s *sheet) chosenClass(c shock.Class) bool {
	is := func(name, have string) bool { return s.typed(name) == "" || s.typed(name) == have }
	return is("kind", string(c.Kind)) && is("ground", c.Ground) && is("strap", c.Strap)
}

// anyOf lets one of the names be chosen that the classes have.
func anyOf(classes []shock.ClassFit, name, label string, of func(shock.Class) string, called func(string) string) entry {
	names := map[string]bool{}
	for _, c := range classes {
		names[of(c.Class)] = true
	}
	delete(names, "")
	e := entry{Name: name, Label: label, Choices: []option{{Label: text("page.multipliers.check.any")}}}
	for _, n := range slices.Sorted(maps.Keys(names)) {
		e.Choices = append(e.Choices, option{Value: n, Label: called(n)})
	}
	return e
}

// kindOptions are the kinds of pull, any first.
func kindOptions() []option {
	out := []option{{Label: text("page.multipliers.check.any")}}
	for _, k := range []pull.Kind{pull.Kinetic, pull.Steady, pull.Proof} {
		out = append(out, option{Value: string(k), Label: text("shock.kind." + string(k))})
	}
	return out
}
