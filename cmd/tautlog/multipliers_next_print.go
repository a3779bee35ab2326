package main

import (
	"bufio"
	"fmt"
	"io"
	"math"

	"tautlog/analysis/shock"
)

// write writes the plan for a terminal.
func (m *multiplierNext) write(w io.Writer, n shock.NextPlan) error {
	out := &lines{w: bufio.NewWriter(w)}
	out.say(0, "To be planned: %s; %s.", n.Target.Class, m.how(n.Target))
	m.target(out, n)
	m.planned(out, n)
	m.days(out, n)
	m.excluded(out, n)
	out.gap()
	out.say(0, "To know:")
	for _, s := range m.limitFrom() {
		out.say(2, "%s", s)
	}
	for _, s := range n.Notes() {
		out.say(2, "%s", s)
	}
	return out.end()
}

func (m *multiplierNext) how(p shock.Pull) string {
	text := p.Reference.String() + " is pulled"
	if p.Puller > 0 {
		text += " by " + p.Puller.String()
	}
	if p.Speed > 0 {
		text += " at " + p.Speed.String()
	}
	return text
}

// target says what the bound is now and what is expected of it.
func (m *multiplierNext) target(out *lines, n shock.NextPlan) {
	if n.Now != nil {
		text := fmt.Sprintf("Its peak stays below %s by the %s", n.Now.Show(m.show, 0), n.By.Words())
		if n.Then != nil {
			text += fmt.Sprintf("; after these pulls that is expected to be %s", n.Then.Show(m.show, 0))
		}
		out.say(2, "%s.", text)
	}
	if n.DoubtNow > 0 {
		out.say(2, "What the speed fit expects of it is known to about %.0f %% (standard deviation); expected afterwards: %.0f %%.",
			100*math.Expm1(n.DoubtNow), 100*math.Expm1(n.DoubtThen))
	}
}

// planned lists the pulls of the day.
func (m *multiplierNext) planned(out *lines, n shock.NextPlan) {
	out.gap()
	if len(n.Pulls) == 0 {
		out.say(0, "No pull to propose.")
		return
	}
	out.say(0, "The day, gentle pulls first; limit %s:", n.Limit.Show(m.show, 0))
	for i, p := range n.Pulls {
		out.say(2, "%d. %s: %s", i+1, counted(p.Count, "pull"), m.pull(p.Pull))
		expected := "peak expected: nothing is known"
		if p.Expected != nil {
			expected = "peak expected " + p.Expected.Show(m.show, 0)
		}
		out.say(5, "%s, upper bound %s (%s), %.0f %% of the limit", expected, p.Upper.Show(m.show, 0), p.Basis.Words(), 100*p.Share)
		if p.Gain > 0 {
			out.say(5, "the first of them is expected to narrow what is not known by %.1f %%", 100*p.Gain)
		}
	}
}

// pull names a pull that is not yet made.
func (m *multiplierNext) pull(p shock.Pull) string {
	text := p.Class.String()
	if p.Speed > 0 {
		text += ", " + p.Speed.String()
	}
	return text
}

// days says what more pulls of the class would do.
func (m *multiplierNext) days(out *lines, n shock.NextPlan) {
	if n.ClassNow == nil || len(n.Days) == 0 {
		return
	}
	out.gap()
	out.say(0, "The multiplier of %s: bound %.2f now. Expected after more pulls like those logged:", n.Target.Class, *n.ClassNow)
	for _, d := range n.Days {
		on := "on the last day in the log"
		if !d.Same {
			on = "on " + counted(d.Days, "new day")
		}
		out.say(2, "%s %s: %.2f", counted(d.Pulls, "pull"), on, d.Upper)
	}
}

// excluded lists the pulls that are not to be made: of each class and reason
// the gentlest.
func (m *multiplierNext) excluded(out *lines, n shock.NextPlan) {
	if len(n.Excluded) == 0 {
		return
	}
	out.gap()
	out.say(0, "Not to be made:")
	from := map[string]bool{}
	for _, p := range n.Excluded {
		key := p.Pull.Class.String()
		if from[key] {
			continue
		}
		from[key] = true
		faster := ""
		if p.Pull.Speed > 0 {
			faster = " and faster"
		}
		out.say(2, "%s%s: %s", m.pull(p.Pull), faster, p.Reason)
	}
}
