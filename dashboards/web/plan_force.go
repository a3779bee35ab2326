package web

import (
	"tautlog/analysis/pull"
	"tautlog/analysis/rating"
	"tautlog/calc/unit"
)

// forceForm are the fields of a force on a rig.
func forceForm(d *desk) []group {
	kindOptions := []option{}
	for _, k := range kinds() {
		kindOptions = append(kindOptions, option{Value: string(k), Label: text("shock.kind." + string(k))})
	}
	return []group{{Title: text("page.plan.force.rig-and-force"), Fields: d.set(
		d.rigField(text("page.plan.force.items")),
		entry{Name: "force", Label: text("page.plan.force.force"), HintOf: "page.plan.force.force.hint", Like: []unit.Force{40e3, 35e3, 48e3}},
		entry{Name: "kind", Label: text("page.plan.force.kind"), Choices: kindOptions, Hint: text("page.plan.force.kind.hint")},
		d.dayField(),
	)}}
}

// workForce holds a given force against a rig.
func workForce(d *desk) (*answer, error) {
	g := d.rig(d.sheet, true)
	f, given := between(d.sheet, "force", "force", unit.ParseForce)
	if !given {
		d.refuse("force", text("field.empty", quantityWords("force"), likeForce(40e3, d.unit)))
	}
	kind := pull.Kind(d.text("kind"))
	if kind != "" && !knownKind(kind) {
		d.refuse("kind", text("refused.kind", kind))
	}
	d.on()
	if !d.good() {
		return nil, nil
	}
	t := answer{Unit: d.unit, Title: text("plan.force.told", about(f.High, d.unit), g.Name), Lead: about(f.High, d.unit), Means: text("plan.force.means", g.Name)}
	if f.Wide() {
		t.Beside = load(f, d.unit)
	}
	var err error
	t.Judged, err = judged(d, rating.Peak{Value: f.Likely, Low: f.Low, High: f.High, Kind: kind})
	if t.Judged == nil {
		return nil, err
	}
	return &t, nil
}
