package main

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"tautlog/calc/kinetic"
	"tautlog/calc/unit"
)

func (p *kineticPlan) writeText(w io.Writer) error {
	out := &lines{w: bufio.NewWriter(w)}
	start := "at " + p.plan.Speed.String()
	if p.plan.Speed == 0 {
		start = "from standstill"
	}
	out.say(0, "A puller of %v %s, a stuck vehicle of %v, a line of %s.", p.plan.Puller, start, p.plan.Stuck, p.line())
	if p.plan.Slack > 0 {
		out.say(0, "It runs through %v of slack and arrives at %v.", p.plan.Slack, p.out.Pull.Speed)
	}
	out.say(0, "%s %s", p.pushing(), p.holding())
	if p.show == unit.TonneF {
		out.say(0, "t is tonne-force.")
	}
	out.gap()
	for _, row := range p.rows() {
		out.say(2, "%s", fmt.Sprintf("%-14s%s", row[0], row[1]))
	}
	if p.plan.Attempts > 1 {
		out.gap()
		p.writeAttempts(out)
	}
	if p.rig.forecast != nil {
		p.rig.writeText(out, p.show)
	}
	out.gap()
	out.say(0, "To know:")
	for _, r := range append(p.rig.notes(), p.out.Remarks...) {
		out.say(2, "%s", r)
	}
	return out.end()
}

func (p *kineticPlan) force(f unit.Force) string { return f.Show(p.show, 0) }

// line says what the line is.
func (p *kineticPlan) line() string {
	s := p.plan.Strap
	stiffness := ""
	if k, ok := p.out.Pull.Line.Curve.(kinetic.Linear); ok {
		stiffness = unit.Stiffness(k).String()
	}
	at := "its breaking strength"
	if s.At > 0 {
		at = p.force(s.At)
	}
	switch {
	case len(s.Points) > 0:
		last := s.Points[len(s.Points)-1]
		return fmt.Sprintf("which a loading curve was measured, up to %v and %s", last.Stretch, p.force(last.Force))
	case s.Elongation > 0:
		return fmt.Sprintf("%v that stretches by %s %% at %s, which is %s", s.Length, percent(s.Elongation), at, stiffness)
	}
	return stiffness
}

func (p *kineticPlan) pushing() string {
	push := p.out.Push
	said := fmt.Sprintf("The puller pushes on with %s.", p.force(push.Drive))
	switch {
	case push.Asked == 0:
		said = "The puller does not push on once the line is taut."
	case push.Capped():
		said = fmt.Sprintf("The driver asks for %s; the ground passes on no more than %s.", p.force(push.Asked), p.force(push.Drive))
	}
	switch {
	case push.Weight > 0:
		said += fmt.Sprintf(" The slope takes %s of it.", p.force(push.Weight))
	case push.Weight < 0:
		said += fmt.Sprintf(" The slope adds %s.", p.force(-push.Weight))
	}
	return said
}

func (p *kineticPlan) holding() string {
	if p.plan.Fixed {
		return "No resistance is given: the stuck vehicle counts as held fast."
	}
	return fmt.Sprintf("The ground holds the stuck vehicle with %s.", p.force(p.plan.Resistance))
}

// rows are what the pull comes to, a name and words each.
func (p *kineticPlan) rows() [][2]string {
	o := p.out
	rows := [][2]string{
		{"Peak", fmt.Sprintf("%s, %.2f times the %s", p.force(o.Peak), o.Multiplier(), kinetic.MultiplierOf)},
		{"Stretch", o.Stretch.String()},
		{"Time to peak", fmt.Sprintf("%.2f s after the line came taut", o.PeakAt)},
		{"Energy", p.energy()},
		{"The stuck end", p.moving()},
	}
	if way := p.way(); way != "" {
		rows = append(rows, [2]string{"Way", way})
	}
	if share := p.strength(); share != "" {
		rows = append(rows, [2]string{"Strap", share})
	}
	if rebounds := p.rebounds(); rebounds != "" {
		rows = append(rows, [2]string{"Rebounds", rebounds})
	}
	return append(rows, [2]string{"A loose part", p.recoil()}, [2]string{"Keep out", p.keepOut()})
}

func (p *kineticPlan) energy() string {
	said := fmt.Sprintf("%.1f kJ in the line at the peak", p.out.Energy/1000)
	if p.out.Pull.Line.Loss > 0 {
		said += fmt.Sprintf("; it gives back %.1f kJ of it", p.out.GivenBack/1000)
	}
	return said
}

func (p *kineticPlan) moving() string {
	switch {
	case p.plan.Fixed:
		return "held fast, which gives the highest peak"
	case p.out.Moves:
		return fmt.Sprintf("moves before the peak; held fast it would be %s", p.force(p.out.Held.Peak))
	}
	return "does not move"
}

// way is how far the stuck vehicle moves, where it does.
func (p *kineticPlan) way() string {
	a := p.out.Attempts[0]
	switch {
	case a.Way == nil || *a.Way == 0:
		return ""
	case !a.Stops:
		return fmt.Sprintf("%v in %g s, and the stuck vehicle still moves", *a.Way, kinetic.Followed)
	case p.out.Push.Drive > 0:
		return fmt.Sprintf("the stuck vehicle moves %v, if the driver keeps driving", *a.Way)
	}
	return fmt.Sprintf("the stuck vehicle moves %v", *a.Way)
}

// strength is what the peak asks of the strap.
func (p *kineticPlan) strength() string {
	share, ok := p.out.Share(p.out.Peak)
	switch {
	case !ok:
		return ""
	case p.plan.Strap.Wet:
		return fmt.Sprintf("asked for %s %% of its strength wet, %s (dry: %s)", percent(share), p.force(p.out.Strength), p.force(p.plan.Strap.MBS))
	}
	return fmt.Sprintf("asked for %s %% of its breaking strength, %s", percent(share), p.force(p.out.Strength))
}

// rebounds are the first peaks that follow.
func (p *kineticPlan) rebounds() string {
	var said []string
	for _, r := range p.out.Rebounds[:min(3, len(p.out.Rebounds))] {
		said = append(said, fmt.Sprintf("%s at %.2f s", p.force(r.Force), r.At))
	}
	return strings.Join(said, ", ")
}

func (p *kineticPlan) recoil() string {
	var said []string
	for _, r := range p.out.Recoil {
		said = append(said, fmt.Sprintf("%v for %v", r.Speed, r.Part))
	}
	return "flies off with at most " + strings.Join(said, ", ")
}

func (p *kineticPlan) keepOut() string {
	if p.out.KeepOut == 0 {
		return fmt.Sprintf("at least %g times the length of the line, which is not given", p.out.KeepAway)
	}
	return fmt.Sprintf("at least %v, %g times the length of the line", p.out.KeepOut, p.out.KeepAway)
}

func (p *kineticPlan) writeAttempts(out *lines) {
	out.say(0, "Attempts, each with the same run-up:")
	total := unit.Length(0)
	for i, a := range p.out.Attempts {
		said := fmt.Sprintf("%d. peak %s", i+1, p.force(a.Peak))
		if share, ok := p.out.Share(a.Peak); ok {
			said += fmt.Sprintf(", %s %% of the strap's strength", percent(share))
		}
		switch {
		case a.Way == nil:
		case !a.Stops:
			said += fmt.Sprintf(", still moving after %g s", kinetic.Followed)
		default:
			total += *a.Way
			said += fmt.Sprintf(", moves %v, in all %v", *a.Way, total)
		}
		out.say(2, "%s", said)
	}
}

// percent is a share in percent with three digits.
func percent(share float64) string { return fmt.Sprintf("%.3g", 100*share) }
