package main

import (
	"fmt"

	"tautlog/analysis/plan"
	"tautlog/calc/unit"
)

// outlook writes how a rig would fare: the summary, every item under the
// verdict at the force to plan with, where the first limit lies, and bridles.
func (l *lines) outlook(o plan.Outlook, show unit.ForceUnit) {
	title := o.Rig.Name
	if title == "" {
		title = "Rig"
	}
	l.gap()
	l.say(0, "%s: %s pulls %s.", title, o.Rig.Pulling.Name, o.Rig.Stuck.Name)
	l.say(2, "%s", o.Result.Summary)
	for _, it := range o.Result.Items {
		l.item(it, it.AtHigh)
	}
	l.gap()
	l.say(0, "Where the first limit lies:")
	for _, s := range o.Largest.Text(show) {
		l.say(2, "%s", s)
	}
	for _, f := range o.Forks {
		l.fork(f, show)
	}
}

// fork writes what the legs of a bridle would carry by their angle.
func (l *lines) fork(f plan.Fork, show unit.ForceUnit) {
	l.gap()
	l.say(0, "The bridle at %s, by the angle between its legs, where they share:", f.Vehicle)
	for _, leg := range f.Legs {
		here := ""
		if leg.Included == f.Included {
			here = "  as in the rig"
		}
		fmt.Fprintf(l.w, "  %6s  %.2f F  %s%s\n", leg.Included, leg.Share, leg.Force.Show(show, 0), here)
	}
	if !f.Equaliser {
		l.say(2, "Without an equaliser a leg may carry %.2f F alone.", f.Alone)
	}
}
