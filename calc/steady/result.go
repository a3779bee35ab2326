package steady

import (
	"slices"

	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Result is what a steady pull comes to.
type Result struct {
	// Resistance is the sum of Terms.
	Resistance Load
	// Terms are rolling, grade, mire and drag, in this order, all of them.
	Terms []Term
	// Across is what pulls the vehicle down a side slope.
	Across Term
	// Tackle is what the sheaves add, over all parts.
	Tackle Term
	// Line is the pull in the hauled part.
	Line Load
	// Anchor is the load on what holds AnchorLines line parts, each counted
	// as the hauled one.
	Anchor      Load
	AnchorLines int
	// Blocks are the loads on the redirects, in the order of the plan.
	Blocks []Block
	// Winch is what the winch can do; nil where none was given.
	Winch *Hauling
	// Remarks are what to know: what was assumed, what is not counted.
	Remarks []string
	// Sources are all that the result rests on, each once.
	Sources []Source
}

// Block is a redirect under load.
type Block struct {
	Included unit.Angle
	Factor   float64 // load over line pull
	Load     Load
}

// Hauling is a winch against the line pull.
type Hauling struct {
	Pull    Load // what it can pull
	Sources []Source
	// Parts is the number of line parts that keeps even the high line pull
	// below the low end of what the winch can pull; 0 where MaxParts are not
	// enough.
	Parts int
}

// FromMemory tells whether the result rests on a value that was recalled and
// not read.
func (r Result) FromMemory() bool {
	return slices.ContainsFunc(r.Terms, func(t Term) bool { return t.Status == FromMemory })
}

// Calculate plans the pull.
func Calculate(p Plan) (Result, error) {
	if err := p.Validate(); err != nil {
		return Result{}, err
	}
	r := Result{Terms: []Term{p.rolling(), p.grade(), p.mire(), p.drag()}, Across: p.across(), AnchorLines: p.Line.AnchorLines}
	for _, t := range r.Terms {
		r.Resistance = plus(r.Resistance, t.Force)
	}
	if r.AnchorLines == 0 {
		r.AnchorLines = p.Line.Parts
	}
	r.Line = each(r.Resistance, p.Line.Pull)
	r.Tackle = p.Line.tackle(r.Resistance)
	r.Anchor = each(r.Line, func(f unit.Force) unit.Force { return f * unit.Force(r.AnchorLines) })
	for _, a := range p.Line.Redirects {
		f := BlockFactor(a)
		r.Blocks = append(r.Blocks, Block{a, f, each(r.Line, func(l unit.Force) unit.Force { return l * unit.Force(f) })})
	}
	if err := r.haul(p); err != nil {
		return Result{}, err
	}
	r.Remarks = p.remarks()
	r.Sources = r.allSources(p)
	return r, nil
}

// tackle says what the sheaves add.
func (l Line) tackle(resistance Load) Term {
	t := Term{Kind: Tackle, Force: each(resistance, l.added), Status: Read, Sources: []Source{tackleRule()}}
	switch {
	case l.Sheaves == 0:
		t.How, t.Status, t.Sources = words.Say("steady.no-sheaves"), Computed, nil
	case l.Loss == nil:
		t.How = words.Say("steady.tackle", l.Sheaves)
	default:
		t.How = words.Say("steady.sheaves.loss", plain(100**l.Loss), l.Sheaves)
		t.Status, t.Sources = Given, []Source{{words.Say("steady.source.sheave-entered"), Given}}
	}
	return t
}

func (r *Result) haul(p Plan) error {
	if p.Winch == nil {
		return nil
	}
	pull, err := p.Winch.Pull()
	if err != nil {
		return err
	}
	r.Winch = &Hauling{Pull: pull, Sources: p.Winch.sources()}
	r.Winch.Parts, _ = p.Line.PartsFor(r.Resistance.High, pull.Low)
	return nil
}

func (r Result) allSources(p Plan) []Source {
	var all []Source
	for _, t := range append(slices.Clone(r.Terms), r.Across, r.Tackle) {
		if t.Force.High > 0 {
			all = append(all, t.Sources...)
		}
	}
	if len(r.Blocks) > 0 {
		all = append(all, blockChart())
	}
	if r.Winch != nil {
		all = append(all, r.Winch.Sources...)
	}
	var once []Source
	for _, s := range all {
		if !slices.Contains(once, s) {
			once = append(once, s)
		}
	}
	return once
}
