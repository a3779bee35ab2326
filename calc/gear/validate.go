package gear

import (
	"math"
	"strconv"
	"strings"

	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Problem is something wrong with an item, for people.
type Problem struct {
	Path string // "ratings#1.value", counted from 1; empty for the whole
	Text string // what is wrong and what to do
}

// Check lists what makes the item unusable.
func (it Item) Check() []Problem {
	var ps []Problem
	add := func(path, say string) { ps = append(ps, Problem{path, say}) }
	if strings.TrimSpace(it.Name) == "" {
		add("name", words.Say("item.check.name"))
	}
	if !it.Kind.Known() {
		add("kind", words.Say("item.check.kind", it.Name, list(Kinds())))
	}
	if it.Length != nil && !positive(float64(*it.Length)) {
		add("length", words.Say("item.check.length", it.Name))
	}
	if it.Mass != nil && !positive(float64(*it.Mass)) {
		add("mass", words.Say("item.check.mass", it.Name))
	}
	if it.Stiffness != nil && !positive(float64(*it.Stiffness)) {
		add("stiffness", words.Say("item.check.stiffness", it.Name))
	}
	for i, r := range it.Ratings {
		for _, p := range r.Check() {
			ps = append(ps, Problem{"ratings#" + strconv.Itoa(i+1) + "." + p.Path, p.Text})
		}
	}
	problems{"mounting", &ps}.fixing(it)
	problems{"", &ps}.life(it.Life)
	return ps
}

// Check lists what makes the rating unusable.
func (r Rating) Check() []Problem {
	var ps []Problem
	if !positive(float64(r.Value)) {
		ps = append(ps, Problem{"value", words.Say("item.check.rating")})
	}
	if r.Basis == "" {
		ps = append(ps, Problem{"basis", words.Say("item.check.basis", list(Bases()))})
	}
	if d := r.DesignFactor; d != nil {
		if !(*d >= 1) || math.IsInf(*d, 0) {
			ps = append(ps, Problem{"design_factor", words.Say("item.check.factor")})
		}
		if r.Basis != MBS {
			ps = append(ps, Problem{"design_factor", words.Say("item.check.factor.mbs")})
		}
	}
	if d := r.Direction; d.Rule == UpTo && !(d.Max >= 0 && d.Max.Degrees() <= 180) {
		ps = append(ps, Problem{"direction", words.Say("item.check.upto")})
	}
	return ps
}

// Check lists what makes the vehicle unusable.
func (v Vehicle) Check() []Problem {
	var ps []Problem
	if strings.TrimSpace(v.Name) == "" {
		ps = append(ps, Problem{"name", words.Say("item.check.vehicle.name")})
	}
	if v.GVM != nil && !positive(float64(*v.GVM)) {
		ps = append(ps, Problem{"gvm", words.Say("item.check.vehicle.gvm")})
	}
	if v.Weighed != nil && !positive(float64(*v.Weighed)) {
		ps = append(ps, Problem{"weighed", words.Say("item.check.vehicle.weighed")})
	}
	if v.Kerb != nil && !(positive(float64(*v.Kerb)) && (v.GVM == nil || *v.Kerb < *v.GVM)) {
		ps = append(ps, Problem{"kerb", words.Say("item.check.vehicle.kerb")})
	}
	if p := CheckWithin(v.Weighed, v.WeighedWithin); p != "" {
		ps = append(ps, Problem{"weighed_within", p})
	}
	if v.Wheelbase != nil && !positive(float64(*v.Wheelbase)) {
		ps = append(ps, Problem{"wheelbase", words.Say("item.check.vehicle.wheelbase")})
	}
	if a := v.FullTurn; a != nil && !(*a > 0 && a.Degrees() < 90) {
		ps = append(ps, Problem{"full_turn", words.Say("item.check.vehicle.turn")})
	}
	return ps
}

// CheckWithin says what is wrong with half the width of the interval of a mass;
// nothing where it can be used or is not known.
func CheckWithin(mass, within *unit.Mass) string {
	switch {
	case within == nil:
		return ""
	case mass == nil:
		return words.Say("item.check.within.mass")
	case !positive(float64(*within)) || *within >= *mass:
		return words.Say("item.check.within")
	}
	return ""
}

func positive(v float64) bool { return v > 0 && !math.IsInf(v, 0) }

func list[T ~string](words []T) string {
	names := make([]string, len(words))
	for i, w := range words {
		names[i] = string(w)
	}
	return strings.Join(names, ", ")
}
