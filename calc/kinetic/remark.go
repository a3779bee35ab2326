package kinetic

import (
	"tautlog/calc/words"
)

// remark says what to know of an outcome.
func (o *Outcome) remark(p Plan) {
	say := func(when bool, remark string) {
		if when {
			o.Remarks = append(o.Remarks, remark)
		}
	}
	say(true, law(p.Strap))
	say(len(p.Strap.Points) == 0, words.Say("kinetic.formula.low"))
	say(o.Outside, words.Say("kinetic.peak.curve"))
	say(!o.Outside && p.Strap.Elongation > 0 && o.Peak > p.Strap.reach(), words.Say("kinetic.peak.elongation"))
	say(p.Strap.Elongation > 0, words.Say("kinetic.elongation.estimate"))
	o.remarkStrap(p, say)
	say(o.Push.Capped(), words.Say("kinetic.drive.capped"))
	say(p.Grip != nil, words.Say("kinetic.grip.own"))
	say(p.KeepOut >= LeastKeepOut, words.Say("kinetic.distance.sources"))
	say(p.KeepOut < LeastKeepOut, words.Say("kinetic.distance.low", p.KeepOut))
	say(o.Hardest > o.Peak*1.001, words.Say("kinetic.later-peak", o.Hardest/o.Peak))
	say(p.Attempts > 1, words.Say("kinetic.attempts.sources"))
	say(p.Attempts > 1 && p.Stiffening == 0, words.Say("kinetic.attempts.alike"))
	say(o.Attempts[0].Way == nil, words.Say("kinetic.motion.after"))
}

// law says what the line counts as.
func law(s Strap) string {
	name := "linear"
	if len(s.Points) > 0 {
		name = "measured"
	}
	if s.Loss > 0 {
		name += ".loss"
	}
	return words.Say("kinetic.law." + name)
}

func (o *Outcome) remarkStrap(p Plan, say func(bool, string)) {
	s := p.Strap
	say(s.Wet, words.Say("kinetic.wet.weaker"))
	say(s.Wet && s.WetStiffness == 0, words.Say("kinetic.wet.stiffness"))
	share, known := o.Share(o.Peak)
	say(known && share >= 1, words.Say("kinetic.peak.breaks"))
}
