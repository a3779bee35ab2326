package gear

import (
	"strconv"
	"strings"

	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// problems gathers what is wrong below one path.
type problems struct {
	path string
	list *[]Problem
}

func (p problems) at(path string) problems {
	if p.path != "" {
		path = p.path + "." + path
	}
	return problems{path, p.list}
}

func (p problems) note(say string) { *p.list = append(*p.list, Problem{p.path, say}) }

// length notes a length that is not above zero. What is meant is the end of the
// name of a text.
func (p problems) length(name, what string, l *unit.Length) {
	if l != nil && !positive(float64(*l)) {
		p.at(name).note(words.Say("item.check.positive", words.Say("item.check.of."+what)))
	}
}

// fixing checks the mounting of an item.
func (p problems) fixing(it Item) {
	f := it.Fixing
	if f == nil {
		return
	}
	if it.Kind != Mounting && !it.Kind.Point() {
		p.note(words.Say("item.check.mounting", it.Name, it.Kind.Words()))
	}
	for i, b := range f.Bolts {
		p.at("bolts#" + strconv.Itoa(i+1)).bolts(b)
	}
	if f.Plate != nil {
		p.at("plate").length("thickness", "thickness", f.Plate.Thickness)
	}
	for i, pull := range f.Proofs {
		p.at("proof_pulls#" + strconv.Itoa(i+1)).proof(pull)
	}
}

// maxBolts is more than any bracket has.
const maxBolts = 64

func (p problems) bolts(b Bolts) {
	if b.Count < 0 || b.Count > maxBolts {
		p.at("count").note(words.Say("item.check.bolts", b.Count, maxBolts))
	}
	if s, ok := b.Size.size(); ok && b.Pitch != nil && mm(*b.Pitch) > s.pitch+1e-9 {
		p.at("thread_pitch").note(words.Say("item.check.pitch", b.Size, s.pitch))
	}
	if s, ok := b.Size.size(); ok && b.Hole != nil && mm(*b.Hole) < s.diameter-1e-9 {
		p.at("hole").note(words.Say("item.check.hole", b.Size, mm(*b.Hole)))
	}
	if b.Lever != nil && !(*b.Lever >= 0) {
		p.at("lever_arm").note(words.Say("item.check.lever"))
	}
	for _, c := range []struct {
		name, what string
		value      *unit.Length
	}{
		{"thread_pitch", "pitch", b.Pitch},
		{"rows_apart", "rows", b.Rows},
		{"hole", "hole", b.Hole},
		{"end_distance", "end", b.End},
		{"edge_distance", "edge", b.Edge},
		{"spacing", "spacing", b.Spacing},
		{"spacing_across", "spacing", b.Gauge},
	} {
		p.length(c.name, c.what, c.value)
	}
}

func (p problems) proof(pull ProofPull) {
	if !positive(float64(pull.Level)) {
		p.at("level").note(words.Say("item.check.level"))
	}
	if pull.Hold != nil && !(*pull.Hold >= 0) {
		p.at("hold_s").note(words.Say("item.check.hold"))
	}
	if pull.Decay != nil && !(*pull.Decay >= 0 && *pull.Decay <= 1) {
		p.at("decay").note(words.Say("item.check.decay", *pull.Decay))
	}
	if pull.Set != nil && !(*pull.Set >= 0) {
		p.at("set").note(words.Say("item.check.set"))
	}
}

// life checks what has become of an item.
func (p problems) life(l Life) {
	if r := l.RetireRule; r != nil {
		p.at("retire_rule").rule(*r)
	}
	if n := l.InspectEvery; n != nil && !(*n >= 1 && *n <= 1200) {
		p.at("inspect_every_months").note(words.Say("item.check.every", *n))
	}
	for i, in := range l.Inspections {
		at := p.at("inspections#" + strconv.Itoa(i+1))
		if in.Date == "" {
			at.at("date").note(words.Say("item.check.inspection.date"))
		}
		if in.Result == "" {
			at.at("result").note(words.Say("item.check.inspection.result", InOrder, Watch, Unfit))
		}
	}
	p.at("quarantined").withdrawal(l.Quarantined)
	p.at("retired").withdrawal(l.Retired)
}

func (p problems) withdrawal(w *Withdrawal) {
	if w != nil && strings.TrimSpace(w.Reason) == "" {
		p.at("reason").note(words.Say("item.check.reason"))
	}
}

func (p problems) rule(r RetireRule) {
	if r.MaxAge != nil && !positive(*r.MaxAge) {
		p.at("max_age_years").note(words.Say("item.check.rule.age"))
	}
	if r.MaxPulls != nil && *r.MaxPulls < 1 {
		p.at("max_pulls").note(words.Say("item.check.rule.pulls"))
	}
	if r.MaxPeak != nil && !(*r.MaxPeak > 0 && *r.MaxPeak <= 1) {
		p.at("max_peak_of_mbs").note(words.Say("item.check.rule.peak", *r.MaxPeak))
	}
}
