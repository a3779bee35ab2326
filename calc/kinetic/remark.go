package kinetic

import "fmt"

// remark says what to know of an outcome.
func (o *Outcome) remark(p Plan) {
	say := func(when bool, format string, args ...any) {
		if when {
			o.Remarks = append(o.Remarks, fmt.Sprintf(format, args...))
		}
	}
	say(true, "This is a calculation, not a measurement. %s", o.law(p.Strap))
	say(len(p.Strap.Points) == 0, "Against drop tests of ropes a formula of this kind was found up to 30 %% low at high loads (Weber, International Technical Rescue Symposium 2002).")
	say(o.Outside, "The peak lies beyond the last measured point of the curve. From there on the line is a guess: straight on.")
	say(!o.Outside && p.Strap.Elongation > 0 && o.Peak > p.Strap.reach(), "The peak is above the load at which the elongation was stated. What the strap does there is a guess: straight on.")
	say(p.Strap.Elongation > 0, "A stiffness from one elongation is a first estimate: nylon's curve is far from straight (UFC 4-159-03, figure 6-2).")
	o.remarkStrap(p, say)
	say(o.Push.Capped(), "The drive is capped: the ground does not pass on what the driver asks of the wheels.")
	say(p.Grip != nil, "The coefficient of grip is your own number; no published one for the grounds of recoveries was found.")
	say(p.KeepOut >= LeastKeepOut, "The distance to keep: the instructions of Australian and New Zealand straps ask for 1.5 times the line's length, one South African trainer for 3 to 4 times. A rule in force locally comes first.")
	say(p.KeepOut < LeastKeepOut, "You keep people away by %g times the line's length. That is less than every published figure for a kinetic pull: 1.5 times in the instructions of Australian and New Zealand straps, 3 to 4 times for one trainer.", p.KeepOut)
	say(o.Hardest > o.Peak*1.001, "A later jerk is harder than the first peak if the driver keeps driving: up to %.2f times it.", o.Hardest/o.Peak)
	say(p.Attempts > 1, "With every pull a strap loses strength and elasticity and keeps more of its stretch (sailing magazine, break tests), but no source gives a figure, and none was found for how many attempts are allowed or how long a strap should rest between them. The strength counts as unchanged here.")
	say(p.Attempts > 1 && p.Stiffening == 0, "Without a figure for how the strap stiffens from pull to pull, all attempts come out alike.")
	say(o.Attempts[0].Way == nil, "The motion after the peak changes too fast to be followed: how far the stuck vehicle moves is not known.")
}

// law says what the line counts as.
func (o *Outcome) law(s Strap) string {
	shape, real := "The line counts as linear", "real straps and ropes stiffen with load and use, and then pull harder than this."
	if len(s.Points) > 0 {
		shape, real = "The line counts as it was measured", "a strap stiffens with use, and then pulls harder than this."
	}
	if s.Loss > 0 {
		return shape + " and as losing on the way back what you said, for which no published figure was found; " + real
	}
	return shape + " and without loss; " + real
}

func (o *Outcome) remarkStrap(p Plan, say func(bool, string, ...any)) {
	s := p.Strap
	say(s.Wet, "Wet: nylon counts 15 %% weaker (UFC 4-159-03, table 6-8). Other fibres lose otherwise; ask the maker.")
	say(s.Wet && s.WetStiffness == 0, "How much stiffer or softer the strap is wet is not published; it counts as stiff as dry. The instructions of Australian straps say that a wet strap stretches less, which makes the peak higher.")
	share, known := o.Share(o.Peak)
	say(known && share >= 1, "The peak is above the strap's breaking strength: the strap breaks before it.")
}
