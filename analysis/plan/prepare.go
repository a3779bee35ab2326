package plan

import (
	"errors"
	"strings"

	"tautlog/analysis/pull"
	"tautlog/analysis/shock"
	"tautlog/calc/gear"
	"tautlog/calc/kinetic"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// prepared is a planned pull with what does not depend on its speed.
type prepared struct {
	k     Kinetic // filled
	notes []string
	strap gear.Item // of the rig; empty where it has none
	at    string    // its place
	out   kinetic.Outcome

	fit           *shock.SpeedFit // nil: none knows this strap on this ground
	speeds        *shock.Range    // of the pulls behind what is used; nil: not known
	multiplier    shock.Planning
	hasMultiplier bool
}

// modelled is what the model says of the pull at one speed.
type modelled struct {
	taut  unit.Speed // when the line comes taut
	worst unit.Force // the largest first peak of all attempts
}

// prepare fills the pull from the rig, calculates it, and asks the set.
func (k Kinetic) prepare() (*prepared, error) {
	k, strap, notes, err := k.filled()
	if err != nil {
		return nil, err
	}
	p := &prepared{k: k, notes: notes, strap: strap}
	if p.out, err = k.Plan.Calculate(); err != nil {
		return nil, err
	}
	if k.Rig != nil {
		if place, ok := k.Rig.Stretching(); ok {
			p.at = place.Ref
		}
	}
	p.ask()
	return p, nil
}

// ask takes from the set what speaks of this strap on this ground, and the
// rule of thumb where nothing does that has a bound.
func (p *prepared) ask() {
	with := p.k.With
	fit, drift := with.Refit()
	p.notes = append(p.notes, drift...)
	for _, strap := range p.straps() {
		p.k.Strap = strap
		p.fit = p.speaking(fit)
		if p.multiplier, p.hasMultiplier = with.Multiplier(p.class()); p.fit != nil || p.hasMultiplier {
			break
		}
	}
	p.speeds = p.loggedSpeeds()
	if e, _ := p.bySpeed(worst(p.out)); e.Upper == nil && !p.hasMultiplier {
		p.note(words.Say("forecast.set.nobound", with.Label(), p.class()))
		p.multiplier, p.hasMultiplier = shock.RuleOfThumb().Multiplier(p.class())
	}
}

// speaking is the fit, where it can say something of this pull; else nil.
func (p *prepared) speaking(fit *shock.SpeedFit) *shock.SpeedFit {
	if fit == nil || !p.known(fit) {
		return nil
	}
	if _, _, err := fit.Peak(p.logged(p.out.Pull.Speed)); err != nil {
		p.note(words.Say("forecast.fit.unusable", p.k.With.Label(), err))
		return nil
	}
	return fit
}

func (p *prepared) note(say string) {
	p.notes = append(p.notes, say)
}

// straps are the names by which the set may know the strap.
func (p *prepared) straps() []string {
	if p.k.Strap != "" || p.strap.Name == "" {
		return []string{p.k.Strap}
	}
	return []string{p.strap.Name, string(p.strap.Kind)}
}

func (p *prepared) class() shock.Class {
	return shock.Class{Kind: pull.Kinetic, Ground: p.k.Ground, Strap: p.k.Strap}
}

// known tells whether the fit knows strap and ground, and takes over its
// spelling of them.
func (p *prepared) known(f *shock.SpeedFit) bool {
	strap, ok := spelt(f.Straps, p.k.Strap)
	ground, too := spelt(f.Grounds, p.k.Ground)
	if ok && too {
		p.k.Strap, p.k.Ground = strap, ground
	}
	return ok && too
}

func spelt(of []shock.Coefficient, name string) (string, bool) {
	for _, c := range of {
		if strings.EqualFold(c.Name, name) {
			return c.Name, true
		}
	}
	return "", false
}

// logged is the pull as the fit by speed wants it.
func (p *prepared) logged(taut unit.Speed) shock.Pull {
	return shock.Pull{
		Class: p.class(), Reference: p.k.Plan.Stuck, Speed: max(taut, crawl), Puller: p.k.Plan.Puller,
		StrapLength: p.k.Plan.Strap.Length, StrapMBS: p.k.Plan.Strap.MBS,
	}
}

// crawl stands in for standstill, of which the fit by speed knows nothing.
const crawl unit.Speed = 1e-6

// model calculates the pull at a speed. At the speed of the plan it can be
// calculated; where at another it cannot, the puller stops before the line is
// taut, and there is no peak.
func (p *prepared) model(v unit.Speed) (modelled, error) {
	plan := p.k.Plan
	plan.Speed = v
	peak, taut, err := plan.FirstPeak()
	if errors.Is(err, kinetic.ErrPull) {
		return modelled{}, nil
	}
	return modelled{taut, peak}, err
}

// worst takes first peaks only: they rise with speed, and the driver can end
// what follows.
func worst(o kinetic.Outcome) modelled {
	m := modelled{o.Pull.Speed, o.Peak}
	for _, a := range o.Attempts {
		m.worst = max(m.worst, a.Peak)
	}
	return m
}

// loggedSpeeds is the speeds of the logged pulls that the plan rests on.
func (p *prepared) loggedSpeeds() *shock.Range {
	if p.fit != nil {
		if r, ok := p.fit.Range(p.k.Strap, p.k.Ground); ok {
			return &r
		}
		return nil
	}
	var out *shock.Range
	for _, l := range p.k.With.Pulls {
		c := l.Class
		if l.Speed == 0 || c.Kind != pull.Kinetic || !strings.EqualFold(c.Ground, p.k.Ground) || !strings.EqualFold(c.Strap, p.k.Strap) {
			continue
		}
		if out == nil {
			out = &shock.Range{Strap: c.Strap, Ground: c.Ground, Slowest: l.Speed, Fastest: l.Speed}
		}
		out.Pulls++
		out.Slowest, out.Fastest = min(out.Slowest, l.Speed), max(out.Fastest, l.Speed)
	}
	return out
}
