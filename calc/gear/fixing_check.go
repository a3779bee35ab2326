package gear

import (
	"fmt"
	"strconv"
	"strings"

	"tautlog/calc/unit"
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

func (p problems) note(format string, args ...any) {
	*p.list = append(*p.list, Problem{p.path, fmt.Sprintf(format, args...)})
}

// length notes a length that is not above zero.
func (p problems) length(name, what string, l *unit.Length) {
	if l != nil && !positive(float64(*l)) {
		p.at(name).note("%s is not above zero: leave it out where it is not known", what)
	}
}

// fixing checks the mounting of an item.
func (p problems) fixing(it Item) {
	f := it.Fixing
	if f == nil {
		return
	}
	if it.Kind != Mounting && !it.Kind.Point() {
		p.note("only a point, or a mounting itself, has a mounting: %q is %s", it.Name, withArticle(string(it.Kind)))
	}
	for i, b := range f.Bolts {
		p.at("bolts#" + strconv.Itoa(i+1)).bolts(b)
	}
	if f.Plate != nil {
		p.at("plate").length("thickness", "the thickness", f.Plate.Thickness)
	}
	for i, pull := range f.Proofs {
		p.at("proof_pulls#" + strconv.Itoa(i+1)).proof(pull)
	}
}

// maxBolts is more than any bracket has.
const maxBolts = 64

func (p problems) bolts(b Bolts) {
	if b.Count < 0 || b.Count > maxBolts {
		p.at("count").note("%d bolts are not possible here: 1 to %d, or leave it out where it is not known", b.Count, maxBolts)
	}
	if s, ok := b.Size.size(); ok && b.Pitch != nil && mm(*b.Pitch) > s.pitch+1e-9 {
		p.at("thread_pitch").note("the coarse pitch of %s is %g mm, and none is coarser", b.Size, s.pitch)
	}
	if s, ok := b.Size.size(); ok && b.Hole != nil && mm(*b.Hole) < s.diameter-1e-9 {
		p.at("hole").note("an %s bolt does not fit a hole of %g mm", b.Size, mm(*b.Hole))
	}
	if b.Lever != nil && !(*b.Lever >= 0) {
		p.at("lever_arm").note("a lever arm is zero or more: leave it out where it is not known")
	}
	for _, c := range []struct {
		name, what string
		value      *unit.Length
	}{
		{"thread_pitch", "the pitch", b.Pitch},
		{"rows_apart", "the distance of the rows", b.Rows},
		{"hole", "the diameter of the holes", b.Hole},
		{"end_distance", "the end distance", b.End},
		{"edge_distance", "the edge distance", b.Edge},
		{"spacing", "the spacing", b.Spacing},
		{"spacing_across", "the spacing", b.Gauge},
	} {
		p.length(c.name, c.what, c.value)
	}
}

func (p problems) proof(pull ProofPull) {
	if !positive(float64(pull.Level)) {
		p.at("level").note("the level of a proof pull is above zero")
	}
	if pull.Hold != nil && !(*pull.Hold >= 0) {
		p.at("hold_s").note("a hold is zero seconds or more")
	}
	if pull.Decay != nil && !(*pull.Decay >= 0 && *pull.Decay <= 1) {
		p.at("decay").note("%g is not a part of the level: write 0.02 for 2 %%", *pull.Decay)
	}
	if pull.Set != nil && !(*pull.Set >= 0) {
		p.at("set").note("a set is zero or more: leave it out where nobody looked")
	}
}

// life checks what has become of an item.
func (p problems) life(l Life) {
	if r := l.RetireRule; r != nil {
		p.at("retire_rule").rule(*r)
	}
	if n := l.InspectEvery; n != nil && !(*n >= 1 && *n <= 1200) {
		p.at("inspect_every_months").note("%d months between inspections: a whole number of months, from 1", *n)
	}
	for i, in := range l.Inspections {
		at := p.at("inspections#" + strconv.Itoa(i+1))
		if in.Date == "" {
			at.at("date").note("the inspection has no date")
		}
		if in.Result == "" {
			at.at("result").note("the inspection has no result: write one of %s, %s, %s", InOrder, Watch, Unfit)
		}
	}
	p.at("quarantined").withdrawal(l.Quarantined)
	p.at("retired").withdrawal(l.Retired)
}

func (p problems) withdrawal(w *Withdrawal) {
	if w != nil && strings.TrimSpace(w.Reason) == "" {
		p.at("reason").note("out of service without a reason: write why")
	}
}

func (p problems) rule(r RetireRule) {
	if r.MaxAge != nil && !positive(*r.MaxAge) {
		p.at("max_age_years").note("an age at which to retire is above zero: leave it out where there is no such rule")
	}
	if r.MaxPulls != nil && *r.MaxPulls < 1 {
		p.at("max_pulls").note("a number of pulls after which to retire is 1 or more: leave it out where there is no such rule")
	}
	if r.MaxPeak != nil && !(*r.MaxPeak > 0 && *r.MaxPeak <= 1) {
		p.at("max_peak_of_mbs").note("%g is not a share of the breaking strength: write 0.5 for half", *r.MaxPeak)
	}
}
