package gear

import (
	"strings"

	"tautlog/calc/unit"
)

// Words is all that a person may read off an item, its papers or its label, for
// a search that takes any part of it. Each rating stands in it as it was
// entered and in every unit in which a label may have been printed, number and
// unit in one.
func (it Item) Words() string {
	said := []string{it.ID, it.Name, string(it.Kind), it.Vehicle, it.Where, it.Maker, it.Serial, it.Made, it.Notes}
	if it.Length != nil {
		said = append(said, joined(it.Length.String()))
	}
	for _, r := range it.Ratings {
		said = append(said, string(r.Basis), r.Stamp)
		said = append(said, inEachUnit(r.Value)...)
	}
	return strings.Join(said, " ")
}

// inEachUnit is a force as a file has it, and as the pages show it in each unit.
func inEachUnit(f unit.Force) (out []string) {
	if exact, err := f.MarshalText(); err == nil { // what has no text form is shown all the same
		out = append(out, string(exact))
	}
	for _, u := range []unit.ForceUnit{unit.Kilonewton, unit.TonneF, unit.KilogramF, unit.PoundF} {
		out = append(out, joined(f.Show(u, 0)))
	}
	return out
}

// joined takes the blank from between a number and its unit.
func joined(quantity string) string { return strings.ReplaceAll(quantity, " ", "") }
