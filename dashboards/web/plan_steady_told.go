package web

import (
	"strings"

	"tautlog/calc/steady"
	"tautlog/calc/unit"
)

// tellSteady tells what a steady pull asks.
func tellSteady(p steady.Plan, r steady.Result, u unit.ForceUnit) answer {
	t := answer{Unit: u, Title: text("plan.steady.told", p.Mass, p.Setting()), Means: text("plan.steady.means")}
	t.Lead = about(r.Line.High, u)
	if r.Line.Wide() {
		t.Beside = load(r.Line, u)
	}
	t.Story = []string{text("plan.steady.story", p.Mass, about(p.Mass.Weight(), u), p.Setting()), p.Laid(u)}
	if r.FromMemory() {
		t.Story = append(t.Story, text("plan.memory"))
	}
	t.Facts = []fact{{text("page.plan.steady.told.resistance"), load(r.Resistance, u)}, {text("page.plan.steady.told.line"), text("plan.steady.line", load(r.Line, u))},
		{text("page.plan.steady.told.anchor"), count("plan.steady.anchor", r.AnchorLines, load(r.Anchor, u))}}
	for _, b := range r.Blocks {
		t.Facts = append(t.Facts, fact{text("page.plan.steady.told.redirect"), text("plan.steady.block", load(b.Load, u), b.Included, b.Factor)})
	}
	if r.Across.Force.High > 0 {
		t.Facts = append(t.Facts, fact{text("page.plan.steady.told.across"), text("plan.steady.across", load(r.Across.Force, u))})
	}
	if r.Winch != nil {
		t.Facts = append(t.Facts, fact{text("page.plan.steady.told.winch"), text("plan.steady.winch", load(r.Winch.Pull, u), r.Asks(), r.Needs(p.Line.Parts))})
	}
	t.Passages = []passage{{Title: text("plan.from"), Rows: termRows(r, u)}}
	t.Remarks = r.Remarks
	if r.Winch != nil {
		t.Remarks = append(t.Remarks, text("plan.steady.wraps"))
	}
	return t
}

// termRows say where each part of the resistance comes from. Those that add
// nothing are told together.
func termRows(r steady.Result, u unit.ForceUnit) []row {
	var out []row
	nothing := ""
	for _, t := range append(append([]steady.Term{}, r.Terms...), r.Tackle, r.Across) {
		if t.Force.High == 0 {
			nothing = strings.TrimSpace(nothing + " " + sentence(t.How))
			continue
		}
		out = append(out, row{Name: t.Kind.Words(), Says: text("plan.row", load(t.Force, u), t.How), Rests: restsOn(t, u)})
	}
	if nothing != "" {
		out = append(out, row{Name: text("plan.nothing"), Says: nothing})
	}
	return out
}

// restsOn names the sources of a term, each with how its value came from there.
func restsOn(t steady.Term, u unit.ForceUnit) []string {
	var out []string
	if len(t.Rows) == 0 {
		for _, s := range t.Sources {
			out = append(out, text("plan.source", s.Text, s.Status.Words()))
		}
	}
	for _, r := range t.Rows {
		words := strings.TrimSuffix(r.Words+", "+r.For, ", ")
		out = append(out, text("plan.sourcerow", percents(r.Values), words, r.Source.Text, r.Source.Status.Words()))
	}
	for _, o := range t.Others {
		out = append(out, text("plan.other", about(o.Force, u), o.Source.Text, o.Source.Status.Words()))
	}
	return out
}

// percents says a share as percent.
func percents(s steady.Share) string {
	if s.Wide() {
		return text("plan.percents", plainNumber(100*s.Low), plainNumber(100*s.High))
	}
	return text("plan.percent", plainNumber(100*s.Likely))
}
