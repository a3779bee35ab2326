package steady

import (
	"math"
	"slices"
	"strconv"

	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Kind names a term of the resistance.
type Kind string

// The terms, and what lies across or beyond the resistance.
const (
	Rolling Kind = "rolling"
	Grade   Kind = "grade"
	Mired   Kind = "mire"
	Drag    Kind = "drag"
	Across  Kind = "across"
	Tackle  Kind = "tackle"
)

// Words is the name of the term for people.
func (k Kind) Words() string { return words.Say("steady.term." + string(k)) }

// Term is one part of a resistance.
type Term struct {
	Kind  Kind
	Force Load
	// How says how it came about: "0.1 to 0.4 times the weight".
	How string
	// Status is that of the weakest thing that it rests on.
	Status Status
	// Sources are where it comes from.
	Sources []Source
	// Rows are what each source says, where several do.
	Rows []Row
	// Others are what other rules would give; they are not counted.
	Others []Other
}

// Other is a rule that is shown for comparison.
type Other struct {
	Force  unit.Force
	Source Source
}

// perInch is what an inch of penetration of the tyres adds to the coefficient
// (civil-engineering reference, chapter on earth moving).
const perInch = 0.015

const inch unit.Length = 0.0254

func (p Plan) rolling() Term {
	w := p.Mass.Weight()
	if p.OwnRolling != nil {
		return own(Rolling, *p.OwnRolling, w)
	}
	if p.Surface == nil {
		return Term{Kind: Rolling, How: words.Say("steady.rolling.uncounted"), Status: Given}
	}
	c := p.Surface.Coefficient()
	t := Term{Kind: Rolling, How: times(c), Status: Read, Rows: p.Surface.Rows}
	for _, r := range p.Surface.Rows {
		if !slices.Contains(t.Sources, r.Source) {
			t.Sources = append(t.Sources, r.Source)
		}
	}
	if sunk := perInch * float64(p.Penetration/inch); sunk > 0 {
		c, t.Status = Exactly(c.Likely+sunk), Computed
		t.How = words.Say("steady.surfaces.sunk", times(c), plain(sunk), p.Penetration)
	}
	t.Force = of(c, w)
	return t
}

// grade is the part of the weight along the slope, beside what two rules of
// thumb make of it.
func (p Plan) grade() Term {
	w := p.Mass.Weight()
	t := Term{Kind: Grade, How: words.Say("steady.level-ground"), Status: Computed, Sources: []Source{statics()}}
	if p.Grade == 0 {
		return t
	}
	t.Force = Exactly(w * unit.Force(math.Sin(float64(p.Grade))))
	t.How = words.Say("steady.sine", p.Grade)
	t.Others = []Other{
		{GradeByPercent(w, p.Grade), gradePercent()},
		{GradeByDegrees(w, p.Grade), gradeDegrees()},
	}
	return t
}

// GradeByPercent is the rule of 1 % of the weight per 1 % of grade
// (civil-engineering reference, chapter on earth moving).
func GradeByPercent(weight unit.Force, grade unit.Angle) unit.Force {
	return weight * unit.Force(math.Tan(float64(grade)))
}

// GradeByDegrees is the rule of weight × degrees / 60, and the whole weight
// above 45°. FROM MEMORY, of Commonwealth recovery practice.
func GradeByDegrees(weight unit.Force, grade unit.Angle) unit.Force {
	if grade.Degrees() > 45+1e-9 {
		return weight
	}
	return weight * unit.Force(grade.Degrees()/60)
}

func (p Plan) mire() Term {
	w := p.Mass.Weight()
	if p.OwnMire != nil {
		return own(Mired, *p.OwnMire, w)
	}
	f := Exactly(p.Mire.Factor())
	if f.Likely == 0 {
		return Term{Kind: Mired, How: words.Say("steady.not-mired"), Status: Given}
	}
	return Term{
		Kind: Mired, Force: of(f, w), Status: FromMemory, Sources: []Source{mireRule()},
		How: words.Say("steady.mired", times(f), p.Mire.Words()),
	}
}

func (p Plan) drag() Term {
	if p.Drag.High == 0 {
		return Term{Kind: Drag, How: words.Say("steady.no-drag-entered"), Status: Given}
	}
	return Term{Kind: Drag, Force: p.Drag, How: words.Say("steady.what-damage-adds"), Status: Given, Sources: []Source{{words.Say("steady.source.entered"), Given}}}
}

// across is the part of the weight across the line. It is no part of the
// pull: tyres, or a second line, must hold it.
func (p Plan) across() Term {
	t := Term{Kind: Across, How: words.Say("steady.no-side-slope"), Status: Computed, Sources: []Source{statics()}}
	if p.Side > 0 {
		t.How = words.Say("steady.side-slope.across", p.Side)
		t.Force = Exactly(p.Mass.Weight() * unit.Force(math.Sin(float64(p.Side))))
	}
	return t
}

func own(k Kind, o Own, weight unit.Force) Term {
	from := o.From
	if from == "" {
		from = words.Say("steady.own-measurement")
	}
	return Term{Kind: k, Force: of(o.Share, weight), How: words.Say("steady.own", times(o.Share)), Status: Measured, Sources: []Source{{from, Measured}}}
}

// times says a share of the weight.
func times(s Share) string {
	if s.Wide() {
		return words.Say("steady.times.range", plain(s.Low), plain(s.High))
	}
	return words.Say("steady.times", plain(s.Likely))
}

func plain(v float64) string { return strconv.FormatFloat(v, 'g', 3, 64) }
