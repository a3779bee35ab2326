package main

import (
	"bufio"
	_ "embed"
	"fmt"
	"io"
	"strings"
	"time"

	"tautlog/analysis/life"
	"tautlog/calc/gear"
	"tautlog/calc/unit"
)

// gearLifeSchema describes what "tautlog gear life --json" writes, as JSON
// Schema 2020-12.
//
//go:embed gear-life.schema.json
var gearLifeSchema string

// writeLife writes a life for a terminal.
func writeLife(w io.Writer, l life.Life, u unit.ForceUnit) error {
	out := &lines{w: bufio.NewWriter(w)}
	it := l.Item
	title := it.Name
	if it.ID != "" {
		title += " (" + it.ID + ")"
	}
	out.say(0, "%s, %s.", title, it.Kind)
	if u == unit.TonneF {
		out.say(0, "t is tonne-force.")
	}
	state, withdrawn := l.State()
	if withdrawn != nil {
		out.say(2, "%s", state.Says(*withdrawn))
	} else {
		out.say(2, "In use.")
	}
	for _, r := range l.Retire {
		out.say(2, "By the owner's rule it is to be retired. %s", r)
	}
	out.say(2, "The owner's rule: %s.", strings.TrimSuffix(it.RetireRule.Text(), "."))
	if l.Age.Text != "" {
		out.say(2, "Age: %s.", l.Age.Text)
	}
	out.say(2, "%s", l.Due.Text)
	out.lifeSum(l, u)
	out.lifeInspections(it)
	out.lifePulls(l, u)
	return out.end()
}

// lifeSum writes what all pulls come to.
func (l *lines) lifeSum(x life.Life, u unit.ForceUnit) {
	l.gap()
	l.say(0, "Pulls: %d, load cycles: %d.", len(x.Pulls), x.Cycles())
	if x.Unknown > 0 {
		l.say(2, "Of %s the load is not known.", counted(x.Unknown, "pull"))
	}
	if x.Largest >= 0 {
		c := x.Pulls[x.Largest]
		l.say(2, "Largest load: %s%s, %s.", c.Carried.Show(u, 0), ofStated(c), when(c.Use.Start))
	}
	for _, c := range x.Counts {
		if c.Pulls > 0 {
			l.say(2, "%s %s: %s.", c.Verdict.Shape(), c.Verdict, counted(c.Pulls, "pull"))
		}
	}
	if x.Item.StatedMBS() > 0 && len(x.Pulls) > 0 {
		n, high := x.Above(0.5)
		l.say(2, "Above half of its breaking strength: %s, at the upper end of the interval %d.", counted(n, "pull"), high)
	}
}

func (l *lines) lifeInspections(it gear.Item) {
	l.gap()
	l.say(0, "Inspections:")
	if len(it.Inspections) == 0 {
		l.say(2, "None is recorded.")
	}
	for _, i := range it.Inspections {
		say := fmt.Sprintf("%s: %s", i.Date, i.Result)
		if i.Who != "" {
			say += ", by " + i.Who
		}
		if len(i.Photos) > 0 {
			say += ", " + counted(len(i.Photos), "photo")
		}
		l.say(2, "%s.", say)
		if i.Notes != "" {
			l.say(4, "%s", strings.ReplaceAll(i.Notes, "\n", " "))
		}
	}
}

// lifePulls writes every pull, the latest first.
func (l *lines) lifePulls(x life.Life, u unit.ForceUnit) {
	for i, c := range x.Pulls {
		l.gap()
		say := fmt.Sprintf("Pull %d, %s, %s", c.Use.Pull, c.Use.Kind, when(c.Use.Start))
		for _, b := range c.Use.Beside {
			say += fmt.Sprintf(", the same as pull %d of the other cell", b)
		}
		l.say(0, "%s.", say)
		load := "load not known"
		if c.Known {
			load = c.Carried.Show(u, 0) + ofStated(c)
		}
		l.say(2, "%s %s: %s", c.Verdict.Shape(), c.Verdict, load)
		l.say(4, "%s", x.Reason(i, u))
	}
}

// ofStated is a load as parts of what is stated for the item.
func ofStated(c life.Carried) string {
	say := ""
	if c.OfWLL != nil {
		say += fmt.Sprintf(", %.0f %% of its WLL", 100**c.OfWLL)
	}
	if c.OfMBS != nil {
		say += fmt.Sprintf(", %.0f %% of its breaking strength", 100**c.OfMBS)
	}
	return say
}

func when(ns int64) string { return time.Unix(0, ns).Local().Format("2006-01-02 15:04") }
