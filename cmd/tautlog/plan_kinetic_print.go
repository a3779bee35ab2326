package main

import (
	"bufio"
	"fmt"
	"io"

	"tautlog/calc/unit"
)

func (p *kineticPlan) writeText(w io.Writer) error {
	out := &lines{w: bufio.NewWriter(w)}
	r, force := p.result, func(f unit.Force) string { return f.Show(p.show, 0) }
	out.say(0, "A puller of %v at %v, a stuck vehicle of %v, a line of %v.", p.pull.Puller, p.pull.Speed, p.pull.Stuck, p.stiffness)
	out.say(0, "%s %s", p.pushing(force), p.holding(force))
	if p.show == unit.TonneF {
		out.say(0, "t is tonne-force.")
	}
	out.gap()
	for _, row := range [][2]string{
		{"Peak", fmt.Sprintf("%s, %.2f times the %s", force(r.Peak), p.multiplier(), multiplierOf)},
		{"Stretch", r.Stretch.String()},
		{"Time to peak", fmt.Sprintf("%.2f s after the line came taut", r.PeakAt)},
		{"Energy", fmt.Sprintf("%.1f kJ in the line at the peak", r.Energy/1000)},
		{"The stuck end", p.moving(force)},
	} {
		out.say(2, "%s", fmt.Sprintf("%-14s%s", row[0], row[1]))
	}
	out.gap()
	out.say(0, "To know:")
	out.say(2, "This is a calculation, not a measurement. The line counts as linear and without loss; real straps and ropes stiffen with load and use, and then pull harder than this.")
	out.say(2, "Against drop tests of ropes such a formula was found up to 30 %% low at high loads (Weber, International Technical Rescue Symposium 2002).")
	return out.end()
}

func (p *kineticPlan) pushing(force func(unit.Force) string) string {
	if p.pull.Drive == 0 {
		return "The puller does not push on once the line is taut."
	}
	return fmt.Sprintf("The puller pushes on with %s.", force(p.pull.Drive))
}

func (p *kineticPlan) holding(force func(unit.Force) string) string {
	if p.pull.Fixed {
		return "No resistance is given: the stuck vehicle counts as held fast."
	}
	return fmt.Sprintf("The ground holds the stuck vehicle with %s.", force(p.pull.Resistance))
}

func (p *kineticPlan) moving(force func(unit.Force) string) string {
	switch {
	case p.pull.Fixed:
		return "held fast, which gives the highest peak"
	case p.result.Moves:
		return fmt.Sprintf("moves before the peak; held fast it would be %s", force(p.held.Peak))
	}
	return "does not move"
}
