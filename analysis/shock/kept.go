package shock

import (
	"math"
	"strings"

	"tautlog/calc/words"
)

// ErrKept is what every error of a set that cannot be kept unwraps to.
var ErrKept error = words.Kind("shock.kept.wrong")

// Assumption is a multiplier that was not fitted: somebody states it.
type Assumption struct {
	// Class is what it is for; an empty field stands for any.
	Class ClassName `json:"class"`
	// Multiplier is of the weight of the reference mass.
	Multiplier float64 `json:"multiplier"`
	// Source is who says so, or where it is printed.
	Source string `json:"source"`
}

// Kept is a set of multipliers with a name and a version: assumed by somebody,
// or fitted from the pulls that it holds. What was fitted is frozen: the
// numbers of Fit are those to plan with, whatever a later program would make of
// the same pulls. Nothing of it changes once it has a version.
type Kept struct {
	Name    string `json:"name"`
	Version int    `json:"version"` // from 1; 0: not kept yet, or not to be kept
	Made    string `json:"made"`    // RFC 3339
	Who     string `json:"who"`
	Note    string `json:"note"`

	Assumed []Assumption `json:"assumed,omitempty"` // by hand, or
	Pulls   []Pull       `json:"pulls,omitempty"`   // what was fitted, also what had to be left out
	Fit     *SetRecord   `json:"fit,omitempty"`     // and what came out

	again *refit // see With; nil: not made yet
}

// ruleOfThumb is the name of the set that is there without anybody's doing.
const ruleOfThumb = "rule of thumb"

// RuleOfThumb is the set to plan with as long as none was chosen: three times
// the weight in a kinetic pull. It is common practice; no source is known.
func RuleOfThumb() Kept {
	return Kept{Name: ruleOfThumb, Assumed: []Assumption{{
		Class: ClassName{Kind: "kinetic"}, Multiplier: 3, Source: words.Say("shock.rule-of-thumb.source"),
	}}}
}

// IsRuleOfThumb tells whether a name is that of RuleOfThumb, which no other
// set may have.
func IsRuleOfThumb(name string) bool { return strings.EqualFold(strings.TrimSpace(name), ruleOfThumb) }

// Label names the set for people: "river bar 2026, version 3".
func (k Kept) Label() string {
	switch {
	case k.Name == ruleOfThumb:
		return words.Say("shock.thumb")
	case k.Version == 0:
		return k.Name
	}
	return words.Say("shock.version", k.Name, k.Version)
}

// Behind counts the pulls that the fit used, and their days.
func (k Kept) Behind() (pulls, days int) {
	seen := map[string]bool{}
	for _, p := range k.Pulls {
		if p.Problem() == "" {
			pulls++
			seen[p.Day] = true
		}
	}
	return pulls, len(seen)
}

// Check says what keeps the set from being kept: an error that wraps ErrKept.
func (k Kept) Check() error {
	switch {
	case strings.TrimSpace(k.Name) == "":
		return k.refuse(words.Say("shock.kept.noname"))
	case strings.ContainsFunc(k.Name, func(r rune) bool { return r < ' ' || r == '@' }):
		return k.refuse(words.Say("shock.kept.name", k.Name))
	case IsRuleOfThumb(k.Name):
		return k.refuse(words.Say("shock.kept.there", words.Say("shock.thumb")))
	case (k.Fit == nil) == (len(k.Assumed) == 0):
		return k.refuse(words.Say("shock.kept.kind"))
	case k.Fit != nil && len(k.Fit.Classes) == 0:
		return k.refuse(words.Say("shock.table.unusable", k.Fit.firstLeftOut()))
	case k.Fit != nil && len(k.Pulls) == 0, k.Fit == nil && len(k.Pulls) > 0:
		return k.refuse(words.Say("shock.kept.pulls"))
	}
	return k.checkAssumed()
}

func (k Kept) checkAssumed() error {
	for _, a := range k.Assumed {
		if !(a.Multiplier > 0) || math.IsInf(a.Multiplier, 0) {
			return k.refuse(words.Say("shock.multiplier.wrong", a.Multiplier))
		}
		if strings.TrimSpace(a.Source) == "" {
			return k.refuse(words.Say("shock.kept.nosource", a.Multiplier))
		}
	}
	return nil
}

func (k Kept) refuse(why string) error {
	return words.Error("shock.kept.why", ErrKept, why)
}

// firstLeftOut gives an example of why pulls are left out.
func (r SetRecord) firstLeftOut() string {
	if len(r.LeftOut) == 0 {
		return ""
	}
	return words.Say("shock.leftout", r.LeftOut[0].Name(), r.LeftOut[0].Reason)
}
