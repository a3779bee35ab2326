package web

import (
	"strings"

	"tautlog/analysis/shock"
	"tautlog/calc/unit"
	"tautlog/ingest/store"
)

// shockFactor is the peak over the reference weight, with its interval, by the
// mass that the multipliers take.
func shockFactor(p store.Pull, u unit.ForceUnit) string {
	fit := shock.FromLog(loggedOf(p))
	if fit.Reference == 0 {
		if p.Rig == nil {
			return text("shock.norig")
		}
		return text("shock.nomass", p.Rig.Stuck.Name)
	}
	name := text("shock.stuck")
	if p.Rig != nil {
		name = p.Rig.Stuck.Name
	}
	said := text("shock", fit.Times(), name, referenceWords(p), about(fit.Reference.Weight(), u))
	return strings.TrimSpace(said + " " + fit.SureOfMass())
}

// referenceWords says which mass the peak is measured against.
func referenceWords(p store.Pull) string {
	switch {
	case p.StuckMass != nil:
		return text("mass.said", p.StuckMass)
	case p.Rig.Stuck.Weighed != nil:
		return text("mass.weighed", p.Rig.Stuck.Weighed)
	}
	return text("mass.gvm", p.Rig.Stuck.GVM)
}

// shockTimes is the shock factor alone.
func shockTimes(p store.Pull) string {
	fit := shock.FromLog(loggedOf(p))
	if fit.Reference == 0 {
		return text("undo.unknown")
	}
	return fit.Times()
}
