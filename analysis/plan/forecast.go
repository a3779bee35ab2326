package plan

import (
	"tautlog/analysis/pull"
	"tautlog/analysis/rating"
	"tautlog/analysis/shock"
	"tautlog/calc/kinetic"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Forecast is what a kinetic pull will come to, by all there is to go by.
type Forecast struct {
	// Kinetic is the pull with what was taken from the rig filled in.
	Kinetic Kinetic
	// Outcome is what the model says.
	Outcome kinetic.Outcome
	// Evidence is what every source says, the most specific first.
	Evidence []Evidence
	// Expected is the middle of what was planned with: of the most specific
	// evidence that has a bound, or of the model.
	Expected unit.Force
	// Planning is the peak to plan with: the upper bound of the most specific
	// evidence, and never less than the peak of the model.
	Planning unit.Force
	// PlannedWith says in one sentence which evidence and which set that was.
	PlannedWith string
	// Speeds are those of the logged pulls that it rests on; nil: not known.
	Speeds *shock.Range
	// Recoil is what could fly if the line let go at the planning peak.
	Recoil Recoil
	// Outlook is how the rig would fare; nil without one.
	Outlook *Outlook
	// Notes are what was assumed and what to know.
	Notes []string

	p *prepared
}

// Highest looks for the highest speed, without asking the set again. It panics
// where there is no rig, which is a programmer's mistake.
func (f Forecast) Highest() (Highest, error) { return f.p.highest() }

// Forecast plans the pull. Where the set has pulls of known speed it fits them
// again, which takes a moment. It is a MissingError where too little is known, an
// error that wraps kinetic.ErrPull where the pull makes no sense, and that of
// the rig where it cannot be solved.
func (k Kinetic) Forecast() (Forecast, error) {
	p, err := k.prepare()
	if err != nil {
		return Forecast{}, err
	}
	return p.forecast()
}

func (p *prepared) forecast() (Forecast, error) {
	at := worst(p.out)
	f := Forecast{Kinetic: p.k, Outcome: p.out, Evidence: p.evidence(at), Speeds: p.speeds, Notes: p.notes, p: p}
	f.Expected, f.Planning = choose(f.Evidence)
	f.PlannedWith = p.plannedWith(f)
	if s := p.beyond(at.taut); s != "" {
		f.Notes = append(f.Notes, s)
	}
	if p.out.Hardest > f.Planning {
		f.Notes = append(f.Notes, words.Say("forecast.later-peak", p.out.Hardest.Show(p.k.Unit, 0)))
	}
	f.Recoil = p.recoil(f.Planning)
	if p.k.Rig == nil {
		return f, nil
	}
	o, err := Pull{*p.k.Rig, rating.Peak{Value: f.Expected, Low: f.Expected, High: f.Planning, Kind: pull.Kinetic, On: p.k.On}, p.at, p.k.Unit}.Outlook()
	f.Outlook = &o
	return f, err
}

// plannedWith says which evidence the planning peak is from.
func (p *prepared) plannedWith(f Forecast) string {
	peak := f.Planning.Show(p.k.Unit, 0)
	for _, e := range f.Evidence {
		if !e.Used {
			continue
		}
		switch e.From {
		case BySpeed:
			return words.Say("forecast.planned.upper", peak, e.Text)
		case ByClass:
			return words.Say("forecast.planned.upper.multiplier", peak, p.class(), e.Multiplier, p.k.Reference, e.Text)
		case ByWord:
			return words.Say("forecast.planned.multiplier", peak, e.Multiplier, p.k.Reference, e.Text)
		}
	}
	for _, e := range f.Evidence {
		if e.Upper != nil {
			return words.Say("forecast.planned.model.above", peak, e.Upper.Show(p.k.Unit, 0), e.Text)
		}
	}
	return words.Say("forecast.planned.model.nobound", peak)
}

// beyond says that a speed lies outside of those of the logged pulls, or
// nothing.
func (p *prepared) beyond(taut unit.Speed) string {
	r := p.speeds
	switch {
	case r == nil || taut >= r.Slowest && taut <= r.Fastest:
		return ""
	case p.fit == nil:
		return words.Say("forecast.speed-outside.class", taut, r.Slowest, r.Fastest)
	}
	return words.Say("forecast.speed-outside.fit", taut, r.Slowest, r.Fastest)
}
