package gear

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"tautlog/calc/unit"
)

// Problem is something wrong with an item, for people.
type Problem struct {
	Path string // "ratings#1.value", counted from 1; empty for the whole
	Text string // what is wrong and what to do
}

// Check lists what makes the item unusable.
func (it Item) Check() []Problem {
	var ps []Problem
	add := func(path, format string, args ...any) {
		ps = append(ps, Problem{path, fmt.Sprintf(format, args...)})
	}
	if strings.TrimSpace(it.Name) == "" {
		add("name", "the item has no name: give it the name that people call it by")
	}
	if !it.Kind.Known() {
		add("kind", "%q has no kind: write one of %s", it.Name, list(Kinds()))
	}
	if it.Length != nil && !positive(float64(*it.Length)) {
		add("length", "the length of %q is not above zero: leave it out where it is not known", it.Name)
	}
	if it.Mass != nil && !positive(float64(*it.Mass)) {
		add("mass", "the mass of %q is not above zero: leave it out where it is not known", it.Name)
	}
	if it.Stiffness != nil && !positive(float64(*it.Stiffness)) {
		add("stiffness", "the stiffness of %q is not above zero: leave it out where it is not known", it.Name)
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
		ps = append(ps, Problem{"value", "a rating is above zero: leave the rating out where it is not known"})
	}
	if r.Basis == "" {
		ps = append(ps, Problem{"basis", fmt.Sprintf("the rating has no basis: write one of %s", list(Bases()))})
	}
	if d := r.DesignFactor; d != nil {
		if !(*d >= 1) || math.IsInf(*d, 0) {
			ps = append(ps, Problem{"design_factor", "a design factor is 1 or more"})
		}
		if r.Basis != MBS {
			ps = append(ps, Problem{"design_factor", "a design factor belongs to an MBS: leave it out here"})
		}
	}
	if d := r.Direction; d.Rule == UpTo && !(d.Max >= 0 && d.Max.Degrees() <= 180) {
		ps = append(ps, Problem{"direction", "an angle up to which an item is rated lies between 0 and 180°"})
	}
	return ps
}

// Check lists what makes the vehicle unusable.
func (v Vehicle) Check() []Problem {
	var ps []Problem
	if strings.TrimSpace(v.Name) == "" {
		ps = append(ps, Problem{"name", "no name: name the vehicle, or the anchor that stands in for one"})
	}
	if v.GVM != nil && !positive(float64(*v.GVM)) {
		ps = append(ps, Problem{"gvm", "the GVM is not above zero: leave it out where it is not known"})
	}
	if v.Weighed != nil && !positive(float64(*v.Weighed)) {
		ps = append(ps, Problem{"weighed", "the mass is not above zero: leave it out where it is not known"})
	}
	if v.Kerb != nil && !(positive(float64(*v.Kerb)) && (v.GVM == nil || *v.Kerb < *v.GVM)) {
		ps = append(ps, Problem{"kerb", "the kerb mass is above zero and below the GVM: leave it out where it is not known"})
	}
	if p := CheckWithin(v.Weighed, v.WeighedWithin); p != "" {
		ps = append(ps, Problem{"weighed_within", p})
	}
	if v.Wheelbase != nil && !positive(float64(*v.Wheelbase)) {
		ps = append(ps, Problem{"wheelbase", "the wheelbase is not above zero: leave it out where it is not known"})
	}
	if a := v.FullTurn; a != nil && !(*a > 0 && a.Degrees() < 90) {
		ps = append(ps, Problem{"full_turn", "the full turn of front wheels lies between 0 and 90°"})
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
		return "how far a mass may be off belongs to a mass: say that too, or leave this out"
	case !positive(float64(*within)) || *within >= *mass:
		return "how far a mass may be off is above zero and below the mass: leave it out where it is not known"
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
