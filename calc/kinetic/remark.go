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
	say(len(p.Strap.Points) == 0, words.Say("kinetic.against-drop-tests-of-ropes"))
	say(o.Outside, words.Say("kinetic.the-peak-lies-beyond-the"))
	say(!o.Outside && p.Strap.Elongation > 0 && o.Peak > p.Strap.reach(), words.Say("kinetic.the-peak-is-above-the"))
	say(p.Strap.Elongation > 0, words.Say("kinetic.a-stiffness-from-one-elongation"))
	o.remarkStrap(p, say)
	say(o.Push.Capped(), words.Say("kinetic.the-drive-is-capped-the"))
	say(p.Grip != nil, words.Say("kinetic.the-coefficient-of-grip-is"))
	say(p.KeepOut >= LeastKeepOut, words.Say("kinetic.the-distance-to-keep-the"))
	say(p.KeepOut < LeastKeepOut, words.Say("kinetic.you-keep-people-away-by", p.KeepOut))
	say(o.Hardest > o.Peak*1.001, words.Say("kinetic.a-later-jerk-is-harder", o.Hardest/o.Peak))
	say(p.Attempts > 1, words.Say("kinetic.with-every-pull-a-strap"))
	say(p.Attempts > 1 && p.Stiffening == 0, words.Say("kinetic.without-a-figure-for-how"))
	say(o.Attempts[0].Way == nil, words.Say("kinetic.the-motion-after-the-peak"))
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
	say(s.Wet, words.Say("kinetic.wet-nylon-counts-15-weaker"))
	say(s.Wet && s.WetStiffness == 0, words.Say("kinetic.how-much-stiffer-or-softer"))
	share, known := o.Share(o.Peak)
	say(known && share >= 1, words.Say("kinetic.the-peak-is-above-the-2"))
}
