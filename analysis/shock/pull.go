package shock

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"tautlog/analysis/pull"
	"tautlog/calc/gear"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Class is what pulls have in common whose multiplier is asked for. Empty
// names are names too: pulls of which the ground or the strap is not known.
type Class struct {
	Kind   pull.Kind
	Ground string
	Strap  string
}

// String names the class for people: "kinetic, mud, kinetic rope".
func (c Class) String() string {
	kind := string(c.Kind)
	if kind != "" {
		kind = words.Say("shock.kind." + kind)
	}
	switch {
	case c.Ground != "" && c.Strap != "":
		return words.Say("shock.class.all", kind, c.Ground, StrapName(c.Strap))
	case c.Ground != "":
		return words.Say("shock.class", kind, c.Ground)
	case c.Strap != "":
		return words.Say("shock.class", kind, StrapName(c.Strap))
	}
	return kind
}

// GroundName is a ground for people, also where it has no name.
func GroundName(name string) string { return cmp.Or(name, words.Say("shock.ground-not-named")) }

// StrapName is a strap or rope for people, also where it has no name.
func StrapName(name string) string {
	return cmp.Or(gear.Kind(name).Words(), words.Say("shock.strap-not-named"))
}

// Pull is one logged pull. What is not known of it is zero.
type Pull struct {
	ID    string // what people call it: "pull 12"; empty: by its line
	Line  int    // where it stands in what it was read from
	Day   string // pulls of one day are not independent of each other
	Class Class

	Peak      unit.Force
	Low, High unit.Force // interval of the true peak
	Reference unit.Mass  // what the peak is measured against
	// ReferenceLow to ReferenceHigh is the 95 % interval of that mass; both 0
	// where nobody said how well it is known. No fit uses it, see FactorInterval.
	ReferenceLow, ReferenceHigh unit.Mass
	Flags                       []string // as pull.Pull has them

	// What the speed fit needs besides.
	Speed       unit.Speed
	Puller      unit.Mass
	StrapLength unit.Length
	StrapMBS    unit.Force

	// Remark is what to know of where the numbers are from, for people.
	Remark string
}

// Name is what people call the pull: its ID, or its line.
func (p Pull) Name() string { return named(p.ID, p.Line) }

func named(id string, line int) string {
	if n, ours := strings.CutPrefix(id, "pull "); ours {
		return words.Say("shock.pull", n)
	}
	if id != "" {
		return id
	}
	return words.Say("shock.line", line)
}

// Factor is the shock factor of the pull: its peak over the weight of the
// reference mass.
func (p Pull) Factor() float64 { return p.relative(p.Peak) }

func (p Pull) relative(f unit.Force) float64 { return float64(f) / float64(p.Reference.Weight()) }

// relativeTo is the peak over the weight of another reference mass.
func (p Pull) relativeTo(m unit.Mass) float64 { return float64(p.Peak / m.Weight()) }

// interval is where the logarithm of the true shock factor lies. It is a
// single value where nothing but the peak is known, and has no upper end where
// the peak is only a lower bound.
func (p Pull) interval() (low, high float64) {
	low, high = math.Log(p.Factor()), math.Log(p.Factor())
	if p.Low > 0 {
		low = math.Log(p.relative(p.Low))
	}
	if p.High > 0 {
		high = math.Log(p.relative(p.High))
	}
	if p.open() {
		high = math.Inf(1)
	}
	return low, high
}

// open tells whether the true peak may lie above the reading by nobody knows
// how much.
func (p Pull) open() bool { return p.beyond() || p.missed() }

// beyond tells whether the reading is no more than a lower bound: the
// instrument was at its end, or was not there at the peak, or the peak lies
// outside the limits that a person set.
func (p Pull) beyond() bool {
	return p.marked(func(f string) bool {
		return f == pull.FlagOverload || f == pull.FlagGapAtPeak || f == pull.FlagUnderWay || f == pull.FlagNotEnded || f == pull.FlagPeakAtLimit
	})
}

// missed tells whether the top of the peak may have fallen between readings,
// with no interval given for it. Small misses are likelier than large ones, so
// that the reading is more than a lower bound.
func (p Pull) missed() bool {
	return p.High == 0 && !p.beyond() && p.marked(func(f string) bool {
		return f == pull.FlagFewReadings || f == pull.FlagGap || f == pull.FlagInvalid || strings.Contains(f, pull.FlagSampling[:len("sampl")])
	})
}

func (p Pull) marked(is func(flag string) bool) bool {
	return slices.ContainsFunc(p.Flags, func(flag string) bool { return is(strings.ToLower(flag)) })
}

// reading is the pull as both fits take it.
func (p Pull) reading(class, day int) reading {
	low, high := p.interval()
	return reading{class, day, low, high, p.missed()}
}

// Problem says why the pull cannot be used, or nothing where it can.
func (p Pull) Problem() string {
	switch {
	case !positive(float64(p.Peak)):
		return words.Say("shock.missing.peak")
	case !positive(float64(p.Reference)) && p.Remark != "":
		return words.Say("shock.missing.reference.why", p.Remark)
	case !positive(float64(p.Reference)):
		return words.Say("shock.missing.reference")
	case p.Class.Kind == "":
		return words.Say("shock.missing.kind")
	case p.Day == "":
		return words.Say("shock.missing.day")
	case p.Low > p.Peak || p.High > 0 && p.High < p.Peak || p.Low < 0:
		return words.Say("shock.peak.outside")
	case !p.massInside():
		return words.Say("shock.reference.outside")
	}
	return ""
}

func positive(x float64) bool { return x > 0 && !math.IsInf(x, 0) }
