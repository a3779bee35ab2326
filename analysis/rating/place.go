package rating

import (
	"cmp"

	"tautlog/calc/rig"
	"tautlog/calc/unit"
)

// JudgePlace gives the verdict on one item in its place, as Judge does on all
// of a rig.
func JudgePlace(p Peak, place rig.Place, u unit.ForceUnit) Item {
	u = cmp.Or(u, unit.DefaultShown)
	p.planned = false
	return judge(p.finite(), place, writer{u: u})
}

// Weigh is JudgePlace without the reason, for where there are many.
func Weigh(p Peak, place rig.Place) Item {
	p.planned = false
	it, _, _ := weigh(p.finite(), place)
	return it
}
