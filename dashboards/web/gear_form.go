package web

import (
	"context"
	"strconv"

	"tautlog/calc/gear"
	"tautlog/calc/unit"
)

// itemForm lists the fields of an item: what it is, its ratings, the owner's
// rules and how it is held.
func (s *server) itemForm(ctx context.Context, f *sheet) ([]group, error) {
	vehicles := []option{{Label: "none, or not known"}}
	docs, err := s.Store.Vehicles(ctx)
	if err != nil {
		return nil, err
	}
	now, there := f.text("vehicle"), f.text("vehicle") == ""
	for _, d := range docs {
		key := d.Value.ID
		if key == "" {
			key = d.Value.Name
		}
		there = there || key == now
		vehicles = append(vehicles, option{Value: key, Label: d.Value.Name})
	}
	if !there {
		vehicles = append(vehicles, option{Value: now, Label: now})
	}
	kinds := append([]option{{Label: "choose"}}, choices(gear.Kinds())...)
	groups := []group{{Title: "What it is", Fields: f.set(
		entry{Name: "name", Label: "Name", Hint: "as people call it: blue strap 9 m"},
		entry{Name: "kind", Label: "Kind", Choices: kinds},
		entry{Name: "id", Label: "Number on it", Hint: "if it has one of its own"},
		entry{Name: "vehicle", Label: "Fixed to", Choices: vehicles},
		entry{Name: "where", Label: "Where on it", Hint: "rear left"},
		entry{Name: "length", Label: "Length, unstretched", Hint: "of a strap or rope: 9 m"},
		entry{Name: "stiffness", Label: "Stiffness", Hint: "of a strap or rope: 45 kN/m"},
		entry{Name: "mass", Label: "Its own mass", Hint: "1.2 kg"},
		entry{Name: "maker", Label: "Maker"},
		entry{Name: "serial", Label: "Serial number"},
		entry{Name: "made", Label: "Made", Hint: "2024-05, or 2024"},
		entry{Name: "notes", Label: "Notes", Area: true},
	)}}
	for i := 1; i <= f.rows("ratings", 1); i++ {
		groups = append(groups, ratingFields(f, i))
	}
	groups = append(groups, ruleFields(f))
	for i := 1; i <= f.rows("bolts", 1); i++ {
		groups = append(groups, boltFields(f, i))
	}
	return append(groups, fixingFields(f)), nil
}

// mostRows bounds what one form repeats.
const mostRows = 20

// rows is how often a part of the form is repeated.
func (s *sheet) rows(name string, least int) int {
	n, err := strconv.Atoi(s.text(name))
	if err != nil {
		return least
	}
	return min(max(n, least), mostRows)
}

// choices are words to choose from.
func choices[T ~string](words []T) (out []option) {
	for _, w := range words {
		out = append(out, option{Value: string(w), Label: string(w)})
	}
	return out
}

// orUnknown puts in front of words that nothing is recorded.
func orUnknown[T ~string](words []T) []option {
	return append([]option{{Label: "not recorded"}}, choices(words)...)
}

// nth is the name of a field in a row that is repeated.
func nth(row string, i int, name string) string { return row + strconv.Itoa(i) + "-" + name }

func ratingFields(f *sheet, i int) group {
	n := func(name string) string { return nth("r", i, name) }
	return group{Title: text("form.rating", i), Fields: f.set(
		entry{Name: n("value"), Label: "Rated at", Hint: "as stamped, 4.75 t, or %s; empty: this rating is left out", Like: []unit.Force{47e3}},
		entry{Name: n("basis"), Label: "That is its", Choices: append([]option{{Label: "choose"}}, basisChoices()...)},
		entry{Name: n("factor"), Label: "Design factor", Hint: "of an MBS, where one is stated: 2"},
		entry{Name: n("from"), Label: "Design factor stated by", Choices: orUnknown([]gear.FactorFrom{gear.FactorMaker, gear.FactorOwner})},
		entry{Name: n("direction"), Label: "Holds", Hint: "straight only; up to 30deg; any direction", Suggest: []string{"straight only", "up to 30deg", "full turn of the front wheels", "any direction", "side load steps"}},
		entry{Name: n("together"), Label: "For one, or for two", Choices: []option{{Label: "not said"}, {Value: "alone", Label: "one alone"}, {Value: "pair", Label: "a pair together"}}},
		entry{Name: n("stamp"), Label: "Stamped, word for word", Long: true},
	)}
}

func basisChoices() (out []option) {
	for _, b := range gear.Bases() {
		label := string(b)
		if b == gear.Unknown {
			label = "stamped, basis unknown"
		}
		out = append(out, option{Value: string(b), Label: label})
	}
	return out
}

func ruleFields(f *sheet) group {
	return group{Title: "The owner’s rules", More: true, Fields: f.set(
		entry{Name: "every", Label: "Inspect every so many months", Hint: "12"},
		entry{Name: "max-age", Label: "Retire at an age in years", Hint: "10"},
		entry{Name: "max-pulls", Label: "Retire after pulls", Hint: "60"},
		entry{Name: "max-peak", Label: "Retire after one pull above", Hint: "a share of its breaking strength: 50%"},
		entry{Name: "by", Label: "Last day of use", Hint: "2028-06-30"},
		entry{Name: "rule-notes", Label: "Where the rule comes from", Long: true},
	)}
}

func boltFields(f *sheet, i int) group {
	n := func(name string) string { return nth("b", i, name) }
	return group{Title: text("form.bolts", i), More: true, Fields: f.set(
		entry{Name: n("count"), Label: "Bolts", Hint: "how many that are alike: 4; empty: left out"},
		entry{Name: n("size"), Label: "Thread", Choices: orUnknown(gear.Threads())},
		entry{Name: n("pitch"), Label: "Pitch", Hint: "1.25 mm; empty: coarse"},
		entry{Name: n("class"), Label: "Class on the head", Choices: orUnknown(gear.PropertyClasses())},
		entry{Name: n("plane"), Label: "The joint cuts", Choices: []option{{Label: "not known"}, {Value: "thread", Label: "the thread"}, {Value: "shank", Label: "the shank"}}},
		entry{Name: n("axis"), Label: "They lie", Choices: []option{{Label: "not known"}, {Value: "along", Label: "along the vehicle"}, {Value: "across", Label: "across it"}, {Value: "upright", Label: "upright"}}},
		entry{Name: n("lever"), Label: "Line of pull from their face", Hint: "40 mm"},
		entry{Name: n("rows"), Label: "Outer rows apart", Hint: "80 mm"},
		entry{Name: n("hole"), Label: "Hole", Hint: "13 mm"},
		entry{Name: n("end"), Label: "Hole to the end", Hint: "in the direction of the pull: 30 mm"},
		entry{Name: n("edge"), Label: "Hole to the side", Hint: "25 mm"},
		entry{Name: n("spacing"), Label: "Holes apart along the pull", Hint: "50 mm"},
		entry{Name: n("gauge"), Label: "Holes apart across it", Hint: "50 mm"},
	)}
}

func fixingFields(f *sheet) group {
	known := []option{{Label: "not known"}, {Value: "yes", Label: "yes"}, {Value: "no", Label: "no"}}
	return group{Title: "Of a point: how it is held", More: true, Fields: f.set(
		entry{Name: "member", Label: "Held to", Hint: "chassis rail, left; bumper bar only", Long: true},
		entry{Name: "engineered", Label: "Its maker engineered it for this vehicle", Choices: known},
		entry{Name: "tested", Label: "Its maker tested it on this vehicle", Choices: known},
		entry{Name: "plate", Label: "Thinnest plate under the bolts", Hint: "8 mm"},
		entry{Name: "steel", Label: "Its steel", Choices: orUnknown(gear.Steels())},
	)}
}
