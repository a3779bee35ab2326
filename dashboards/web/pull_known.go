package web

import (
	"strconv"

	"tautlog/analysis/pull"
	"tautlog/analysis/shock"
	"tautlog/calc/unit"
	"tautlog/ingest/store"
)

// mostAttempts is the largest number of an attempt that makes sense.
const mostAttempts = 99

// knownFields are what only a person can know of a pull, as it is recorded.
func knownFields(f *sheet, p store.Pull) []entry {
	f.fill(knownTyped(p))
	depths := []option{{Label: "not known"}}
	for _, d := range []string{store.DepthWheel, store.DepthFender, store.DepthCab} {
		depths = append(depths, option{Value: d, Label: text("depth." + d)})
	}
	return f.set(
		entry{Name: "speed", Label: "Speed", Hint: "of the puller when the line came taut: 8 km/h"},
		entry{Name: "slack", Label: "Slack", Hint: "of the line at the start: 2 m"},
		entry{Name: "depth", Label: "It sat", Choices: depths},
		entry{Name: "attempt", Label: "Attempt", Hint: "which one of this recovery: 1"},
		entry{Name: "puller-mass", Label: "Puller’s mass that day", Hint: "2.95 t; empty: that of the rig"},
		entry{Name: "stuck-mass", Label: "Stuck vehicle’s mass that day", Hint: "3.2 t; empty: that of the rig"},
	)
}

// knownTyped is what is recorded, as it would be typed.
func knownTyped(p store.Pull) map[string]string {
	out := map[string]string{"depth": p.Depth}
	if p.Speed != nil {
		out["speed"] = typedAs(float64(*p.Speed)*3.6, "km/h")
	}
	if p.Slack != nil {
		out["slack"] = typedAs(float64(*p.Slack), "m")
	}
	if p.Attempt > 0 {
		out["attempt"] = strconv.Itoa(p.Attempt)
	}
	if p.PullerMass != nil {
		out["puller-mass"] = kilograms(*p.PullerMass)
	}
	if p.StuckMass != nil {
		out["stuck-mass"] = kilograms(*p.StuckMass)
	}
	return out
}

// readKnown reads what was typed. A field that says what was recorded, rounded
// as it was shown, leaves that as it is.
func readKnown(f *sheet, p *store.Pull) {
	was := knownTyped(*p)
	p.Speed = known(f, was, "speed", "speed", unit.ParseSpeed, notBelow, p.Speed)
	p.Slack = known(f, was, "slack", "length", unit.ParseLength, notBelow, p.Slack)
	p.PullerMass = known(f, was, "puller-mass", "mass", unit.ParseMass, above, p.PullerMass)
	p.StuckMass = known(f, was, "stuck-mass", "mass", unit.ParseMass, above, p.StuckMass)
	p.Attempt = f.count("attempt", 1, mostAttempts, 0)
	switch d := f.typed("depth"); d {
	case "", store.DepthWheel, store.DepthFender, store.DepthCab:
		p.Depth = d
	default:
		f.refuse("depth", text("field.depth", d))
	}
}

// known reads a field that may be empty.
func known[T ~float64](f *sheet, was map[string]string, name, what string, parse func(string) (T, error), low least, now *T) *T {
	if f.typed(name) == was[name] {
		return now
	}
	v, given := quantity(f, name, what, parse, low)
	if !given {
		return nil
	}
	return &v
}

// knownDifferences says what undoing a change would bring back.
func knownDifferences(before, now store.Pull) (out []string) {
	old, is := knownTyped(before), knownTyped(now)
	for _, name := range []string{"speed", "slack", "depth", "attempt", "puller-mass", "stuck-mass"} {
		if old[name] == is[name] {
			continue
		}
		was := old[name]
		if was == "" {
			was = text("undo.unknown")
		}
		out = append(out, text("undo."+name, was))
	}
	return out
}

// apart says that the speed that was entered and the trace disagree.
func apart(p store.Pull) string {
	if p.Kind != pull.Kinetic {
		return ""
	}
	l := shock.Logged{Kind: p.Kind, Rig: p.Rig, Found: p.Found, Speed: p.Speed, PullerMass: p.PullerMass, StuckMass: p.StuckMass}
	return sentence(l.SpeedApart())
}
