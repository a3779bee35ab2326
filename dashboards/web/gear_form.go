package web

import (
	"context"
	"fmt"
	"strconv"

	"tautlog/calc/gear"
	"tautlog/calc/unit"
)

// itemForm lists the fields of an item: what it is, its ratings, the owner's
// rules and how it is held.
func (s *server) itemForm(ctx context.Context, f *sheet) ([]group, error) {
	vehicles := []option{{Label: text("page.gear.form.none-known")}}
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
	kinds := append([]option{{Label: text("page.gear.form.choose")}}, choices(gear.Kinds())...)
	groups := []group{{Title: text("page.gear.form.what-it-is"), Fields: f.set(
		entry{Name: "name", Label: text("page.gear.form.name"), Hint: text("page.gear.form.name.hint")},
		entry{Name: "kind", Label: text("page.gear.form.kind"), Choices: kinds},
		entry{Name: "id", Label: text("page.gear.form.id"), Hint: text("page.gear.form.id.hint")},
		entry{Name: "vehicle", Label: text("page.gear.form.vehicle"), Choices: vehicles},
		entry{Name: "where", Label: text("page.gear.form.where"), Hint: text("page.gear.form.where.hint")},
		entry{Name: "length", Label: text("page.gear.form.length"), Hint: text("page.gear.form.length.hint")},
		entry{Name: "stiffness", Label: text("page.gear.form.stiffness"), Hint: text("page.gear.form.stiffness.hint")},
		entry{Name: "mass", Label: text("page.gear.form.mass"), Hint: text("page.gear.form.mass.hint")},
		entry{Name: "maker", Label: text("page.gear.form.maker")},
		entry{Name: "serial", Label: text("page.gear.form.serial")},
		entry{Name: "made", Label: text("page.gear.form.made"), Hint: text("page.gear.form.made.hint")},
		entry{Name: "notes", Label: text("page.gear.form.notes"), Area: true},
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
		label := fmt.Sprint(w)
		if told, ok := any(w).(interface{ Words() string }); ok {
			label = told.Words()
		}
		out = append(out, option{Value: string(w), Label: label})
	}
	return out
}

// orUnknown puts in front of words that nothing is recorded.
func orUnknown[T ~string](words []T) []option {
	return append([]option{{Label: text("page.gear.form.not-recorded")}}, choices(words)...)
}

// nth is the name of a field in a row that is repeated.
func nth(row string, i int, name string) string { return row + strconv.Itoa(i) + "-" + name }

func ratingFields(f *sheet, i int) group {
	n := func(name string) string { return nth("r", i, name) }
	return group{Title: text("form.rating", i), Fields: f.set(
		entry{Name: n("value"), Label: text("page.gear.form.value"), HintOf: "page.gear.form.value.hint", Like: []unit.Force{47e3}},
		entry{Name: n("basis"), Label: text("page.gear.form.basis"), Choices: append([]option{{Label: text("page.gear.form.choose")}}, basisChoices()...)},
		entry{Name: n("factor"), Label: text("page.gear.form.factor"), Hint: text("page.gear.form.factor.hint")},
		entry{Name: n("from"), Label: text("page.gear.form.from"), Choices: orUnknown([]gear.FactorFrom{gear.FactorMaker, gear.FactorOwner})},
		entry{Name: n("direction"), Label: text("page.gear.form.direction"), Hint: text("page.gear.form.direction.hint"), Suggest: []string{"straight only", "up to 30deg", "full turn of the front wheels", "any direction", "side load steps"}},
		entry{Name: n("together"), Label: text("page.gear.form.together"), Choices: []option{{Label: text("page.gear.form.not-said")}, {Value: "alone", Label: text("page.gear.form.alone")}, {Value: "pair", Label: text("page.gear.form.pair")}}},
		entry{Name: n("stamp"), Label: text("page.gear.form.stamp"), Long: true},
	)}
}

func basisChoices() (out []option) {
	for _, b := range gear.Bases() {
		label := b.Words()
		if b == gear.Unknown {
			label = text("page.gear.form.stamped-basis-unknown")
		}
		out = append(out, option{Value: string(b), Label: label})
	}
	return out
}

func ruleFields(f *sheet) group {
	return group{Title: text("page.gear.form.rules"), More: true, Fields: f.set(
		entry{Name: "every", Label: text("page.gear.form.every"), Hint: text("page.gear.number.hint", 12)},
		entry{Name: "max-age", Label: text("page.gear.form.max-age"), Hint: text("page.gear.number.hint", 10)},
		entry{Name: "max-pulls", Label: text("page.gear.form.max-pulls"), Hint: text("page.gear.number.hint", 60)},
		entry{Name: "max-peak", Label: text("page.gear.form.max-peak"), Hint: text("page.gear.form.max-peak.hint")},
		entry{Name: "by", Label: text("page.gear.form.by"), Hint: text("page.gear.date.hint")},
		entry{Name: "rule-notes", Label: text("page.gear.form.rule-notes"), Long: true},
	)}
}

func boltFields(f *sheet, i int) group {
	n := func(name string) string { return nth("b", i, name) }
	return group{Title: text("form.bolts", i), More: true, Fields: f.set(
		entry{Name: n("count"), Label: text("page.gear.form.count"), Hint: text("page.gear.form.count.hint")},
		entry{Name: n("size"), Label: text("page.gear.form.size"), Choices: orUnknown(gear.Threads())},
		entry{Name: n("pitch"), Label: text("page.gear.form.pitch"), Hint: text("page.gear.form.pitch.hint")},
		entry{Name: n("class"), Label: text("page.gear.form.class"), Choices: orUnknown(gear.PropertyClasses())},
		entry{Name: n("plane"), Label: text("page.gear.form.plane"), Choices: []option{{Label: text("page.gear.form.not-known")}, {Value: "thread", Label: text("page.gear.form.thread")}, {Value: "shank", Label: text("page.gear.form.shank")}}},
		entry{Name: n("axis"), Label: text("page.gear.form.axis"), Choices: []option{{Label: text("page.gear.form.not-known")}, {Value: "along", Label: text("page.gear.form.along")}, {Value: "across", Label: text("page.gear.form.across")}, {Value: "upright", Label: text("page.gear.form.upright")}}},
		entry{Name: n("lever"), Label: text("page.gear.form.lever"), Hint: text("page.gear.form.lever.hint")},
		entry{Name: n("rows"), Label: text("page.gear.form.rows"), Hint: text("page.gear.form.rows.hint")},
		entry{Name: n("hole"), Label: text("page.gear.form.hole"), Hint: text("page.gear.form.hole.hint")},
		entry{Name: n("end"), Label: text("page.gear.form.end"), Hint: text("page.gear.form.end.hint")},
		entry{Name: n("edge"), Label: text("page.gear.form.edge"), Hint: text("page.gear.form.edge.hint")},
		entry{Name: n("spacing"), Label: text("page.gear.form.spacing"), Hint: text("page.gear.form.spacing.hint")},
		entry{Name: n("gauge"), Label: text("page.gear.form.gauge"), Hint: text("page.gear.form.gauge.hint")},
	)}
}

func fixingFields(f *sheet) group {
	known := []option{{Label: text("page.gear.form.not-known")}, {Value: "yes", Label: text("page.gear.form.yes")}, {Value: "no", Label: text("page.gear.form.no")}}
	return group{Title: text("page.gear.form.fixing"), More: true, Fields: f.set(
		entry{Name: "member", Label: text("page.gear.form.member"), Hint: text("page.gear.form.member.hint"), Long: true},
		entry{Name: "engineered", Label: text("page.gear.form.engineered"), Choices: known},
		entry{Name: "tested", Label: text("page.gear.form.tested"), Choices: known},
		entry{Name: "plate", Label: text("page.gear.form.plate"), Hint: text("page.gear.form.plate.hint")},
		entry{Name: "steel", Label: text("page.gear.form.steel"), Choices: orUnknown(gear.Steels())},
	)}
}
