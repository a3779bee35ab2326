package web

import (
	"strconv"

	"tautlog/calc/unit"
	"tautlog/ingest/store"
)

// shockFactor is the peak over the reference weight, which is stated: that of
// the stuck vehicle as it was that day, else as weighed, else its gross vehicle
// mass, as the multipliers take it.
func shockFactor(p store.Pull, u unit.ForceUnit) string {
	if p.Rig == nil && p.StuckMass == nil {
		return text("shock.norig")
	}
	name := text("shock.stuck")
	if p.Rig != nil {
		name = p.Rig.Stuck.Name
	}
	m, which := reference(p)
	if m == 0 {
		return text("shock.nomass", name)
	}
	factor := float64(p.Found.Peak) / float64(m.Weight())
	return text("shock", strconv.FormatFloat(factor, 'f', 2, 64), name, which, about(m.Weight(), u))
}

func reference(p store.Pull) (unit.Mass, string) {
	switch {
	case p.StuckMass != nil:
		return *p.StuckMass, text("mass.said", p.StuckMass)
	case p.Rig.Stuck.Weighed != nil:
		return *p.Rig.Stuck.Weighed, text("mass.weighed", p.Rig.Stuck.Weighed)
	case p.Rig.Stuck.GVM != nil:
		return *p.Rig.Stuck.GVM, text("mass.gvm", p.Rig.Stuck.GVM)
	}
	return 0, ""
}
