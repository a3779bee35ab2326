package main

import (
	"bufio"
	"fmt"
	"io"

	"tautlog/calc/steady"
	"tautlog/calc/unit"
)

// steadyDocument is the JSON form. Keys are only ever added.
type steadyDocument struct {
	Resistance     float64               `json:"resistance_N"`
	ResistanceLow  float64               `json:"resistance_low_N"`
	ResistanceHigh float64               `json:"resistance_high_N"`
	Terms          map[string]steadyTerm `json:"terms"`
	Line           float64               `json:"line_N"`
	LineLow        float64               `json:"line_low_N"`
	LineHigh       float64               `json:"line_high_N"`
	Anchor         float64               `json:"anchor_N"`
	AnchorLow      float64               `json:"anchor_low_N"`
	AnchorHigh     float64               `json:"anchor_high_N"`
	AnchorLines    int                   `json:"anchor_lines"`
	Parts          int                   `json:"parts"`
	Sheaves        int                   `json:"sheaves"`
	Tackle         steadyTerm            `json:"tackle"` // over all parts; not in resistance_N
	Across         steadyTerm            `json:"across"` // down a side slope; not in resistance_N
	Redirects      []steadyBlock         `json:"redirects"`
	Winch          *steadyWinch          `json:"winch"` // null: none was given
	FromMemory     bool                  `json:"from_memory"`
	Remarks        []string              `json:"remarks"`
	Sources        []steadySource        `json:"sources"`
	*steadyRigDocument
}

type steadyTerm struct {
	Value      float64        `json:"value_N"`
	Low        float64        `json:"low_N"`
	High       float64        `json:"high_N"`
	How        string         `json:"how"`
	Status     string         `json:"status"`
	Sources    []steadySource `json:"sources"`
	Rows       []steadyRow    `json:"rows,omitempty"`
	OtherRules []steadyOther  `json:"other_rules,omitempty"` // not counted
}

type steadySource struct {
	Source string `json:"source"`
	Status string `json:"status"`
}

type steadyRow struct {
	Words string  `json:"words"`
	For   string  `json:"for,omitempty"`
	Low   float64 `json:"low"` // times the weight
	High  float64 `json:"high"`
	steadySource
}

type steadyOther struct {
	Value float64 `json:"value_N"`
	steadySource
}

type steadyBlock struct {
	Included float64 `json:"included_deg"`
	Factor   float64 `json:"factor"`
	Load     float64 `json:"load_N"`
	LoadLow  float64 `json:"load_low_N"`
	LoadHigh float64 `json:"load_high_N"`
}

type steadyWinch struct {
	Pull     float64 `json:"pull_N"`
	PullLow  float64 `json:"pull_low_N"`
	PullHigh float64 `json:"pull_high_N"`
	// PartsNeeded is null where no number of line parts is enough.
	PartsNeeded *int `json:"parts_needed"`
}

func (p *steadyPlan) writeJSON(w io.Writer) error {
	r := p.result
	d := steadyDocument{
		Resistance: float64(r.Resistance.Likely), ResistanceLow: float64(r.Resistance.Low), ResistanceHigh: float64(r.Resistance.High),
		Terms: map[string]steadyTerm{},
		Line:  float64(r.Line.Likely), LineLow: float64(r.Line.Low), LineHigh: float64(r.Line.High),
		Anchor: float64(r.Anchor.Likely), AnchorLow: float64(r.Anchor.Low), AnchorHigh: float64(r.Anchor.High),
		AnchorLines: r.AnchorLines, Parts: p.plan.Line.Parts, Sheaves: p.plan.Line.Sheaves,
		Tackle: termDocument(r.Tackle), Across: termDocument(r.Across),
		Redirects: []steadyBlock{}, FromMemory: r.FromMemory(), Remarks: r.Remarks, Sources: sourceDocuments(r.Sources),
	}
	for _, t := range r.Terms {
		d.Terms[string(t.Kind)] = termDocument(t)
	}
	for _, b := range r.Blocks {
		d.Redirects = append(d.Redirects, steadyBlock{b.Included.Degrees(), b.Factor, float64(b.Load.Likely), float64(b.Load.Low), float64(b.Load.High)})
	}
	if h := r.Winch; h != nil {
		d.Winch = &steadyWinch{Pull: float64(h.Pull.Likely), PullLow: float64(h.Pull.Low), PullHigh: float64(h.Pull.High)}
		if h.Parts > 0 {
			d.Winch.PartsNeeded = &h.Parts
		}
	}
	d.steadyRigDocument = p.rig.document()
	return writeJSON(w, d)
}

func termDocument(t steady.Term) steadyTerm {
	d := steadyTerm{
		Value: float64(t.Force.Likely), Low: float64(t.Force.Low), High: float64(t.Force.High),
		How: t.How, Status: string(t.Status), Sources: sourceDocuments(t.Sources),
	}
	for _, r := range t.Rows {
		d.Rows = append(d.Rows, steadyRow{r.Words, r.For, r.Values.Low, r.Values.High, sourceDocument(r.Source)})
	}
	for _, o := range t.Others {
		d.OtherRules = append(d.OtherRules, steadyOther{float64(o.Force), sourceDocument(o.Source)})
	}
	return d
}

func sourceDocument(s steady.Source) steadySource { return steadySource{s.Text, string(s.Status)} }

func sourceDocuments(sources []steady.Source) []steadySource {
	out := []steadySource{}
	for _, s := range sources {
		out = append(out, sourceDocument(s))
	}
	return out
}

func (p *steadyPlan) writeText(w io.Writer) error {
	out := &steadyLines{lines{w: bufio.NewWriter(w)}, p.show}
	out.say(0, "A stuck vehicle of %v, which weighs %s, %s.", p.plan.Mass, p.plan.Mass.Weight().Show(p.show, 0), p.plan.Setting())
	out.say(0, "%s", p.plan.Laid(p.show))
	if p.show == unit.TonneF {
		out.say(0, "t is tonne-force.")
	}
	out.gap()
	out.loads(p)
	out.gap()
	out.say(0, "Where it comes from:")
	for _, t := range append(p.result.Terms, p.result.Tackle, p.result.Across) {
		out.term(t)
	}
	p.rig.writeText(&out.lines, p.show)
	out.gap()
	out.say(0, "To know:")
	for _, r := range append(p.rig.remarks(), p.result.Remarks...) {
		out.say(2, "%s", r)
	}
	if p.result.Winch != nil {
		out.say(2, "At least five wraps stay on the drum (US Army TM 9-2320-430-10 WP 0082).")
	}
	return out.end()
}

// steadyLines writes loads as ranges.
type steadyLines struct {
	lines
	show unit.ForceUnit
}

// load says a range first, then its middle.
func (l *steadyLines) load(f steady.Load) string {
	if !f.Wide() {
		return f.Likely.Show(l.show, 0)
	}
	return unit.ShowRange(f.Low, f.High, "middle", f.Likely, l.show)
}

func (l *steadyLines) row(name, format string, args ...any) {
	l.say(2, "%s", fmt.Sprintf("%-14s", name)+fmt.Sprintf(format, args...))
}

// loads writes what the pull comes to.
func (l *steadyLines) loads(p *steadyPlan) {
	r, memory := p.result, ""
	if r.FromMemory() {
		memory = "; rests on a rule FROM MEMORY, see below"
	}
	l.row("Resistance", "%s%s", l.load(r.Resistance), memory)
	l.row("Line", "%s in the hauled part", l.load(r.Line))
	l.row("Anchor", "%s, where it holds %s", l.load(r.Anchor), counted(r.AnchorLines, "line part"))
	for _, b := range r.Blocks {
		l.row("Redirect", "%s on the block at %v: %.2f times the line", l.load(b.Load), b.Included, b.Factor)
	}
	if r.Across.Force.High > 0 {
		l.row("Across", "%s down the side slope, not in the line", l.load(r.Across.Force))
	}
	if r.Winch == nil {
		return
	}
	l.row("Winch", "pulls %s; the line asks %s", l.load(r.Winch.Pull), r.Asks())
	l.row("", "%s", r.Needs(p.plan.Line.Parts))
}

// term writes where a part comes from.
func (l *steadyLines) term(t steady.Term) {
	if t.Force.High == 0 {
		l.say(2, "%s", fmt.Sprintf("%-10s%s", t.Kind, t.How+"."))
		return
	}
	l.say(2, "%s", fmt.Sprintf("%-10s", t.Kind)+l.load(t.Force)+": "+t.How+".")
	if len(t.Rows) == 0 {
		for _, s := range t.Sources {
			l.say(4, "%s (%s).", s.Text, s.Status.Words())
		}
	}
	for _, r := range t.Rows {
		words := r.Words
		if r.For != "" {
			words += ", " + r.For
		}
		l.say(4, "%s: %s (%s; %s).", percentRange(r.Values), words, r.Source.Text, r.Source.Status.Words())
	}
	for _, o := range t.Others {
		l.say(4, "Not counted: %s by another rule, %s (%s).", o.Force.Show(l.show, 0), o.Source.Text, o.Source.Status.Words())
	}
}
