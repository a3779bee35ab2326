package shock

import (
	"math"
	"slices"
	"strings"

	"tautlog/analysis/pull"
	"tautlog/calc/gear"
	"tautlog/calc/kinetic"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Logged is what a log knows of one pull. What it does not know is empty.
type Logged struct {
	ID     string    // what people call it: "pull 12"
	Number int       // its number in the log, which no other pull has
	Day    string    // a date
	Kind   pull.Kind // as shown: found, or said by a person
	Ground string
	Rig    *rig.Rig // as it was rigged
	Cell   string   // name of the cell that read it, which matters in a rig with two
	Found  pull.Pull
	// Open says that the pull may still go on, so that its peak is only a lower
	// bound.
	Open bool

	// What a person has said of it.
	Speed      *unit.Speed // of the puller when the line came taut
	PullerMass *unit.Mass  // on that day, in place of the rig's
	StuckMass  *unit.Mass
	// StuckWithin is by how much StuckMass may be off in 95 of 100 cases.
	StuckWithin *unit.Mass

	// ByItem makes the class by the name of the strap in place of its kind.
	ByItem bool
}

// FromLog makes of what a log knows what a fit needs; the remark of the pull
// says where masses and strap are from and what is missing.
//
// The ground is written in small letters, so that "Mud" and "mud" are one. The
// reference mass is what was said at the pull, else the mass of the stuck
// vehicle as weighed, else its GVM; the mass of the puller likewise. The strap
// is the kinetic rope or recovery strap of the rig, or where it has none what
// else makes the line. The peak is what the cell read, wherever it hung.
func FromLog(l Logged) Pull {
	r := &reasons{}
	p := Pull{
		ID: l.ID, Line: l.Number, Day: l.Day, Class: Class{Kind: l.Kind, Ground: strings.ToLower(strings.Join(strings.Fields(l.Ground), " "))},
		Peak: l.Found.Peak, Low: l.Found.PeakLow, High: l.Found.PeakHigh, Flags: slices.Clone(l.Found.Flags),
	}
	if l.Open && !slices.Contains(p.Flags, pull.FlagNotEnded) {
		p.Flags = append(p.Flags, pull.FlagNotEnded)
	}
	if l.Speed != nil {
		p.Speed = *l.Speed
	}
	l.masses(&p, r)
	if l.Rig != nil {
		l.line(&p, r)
	}
	if l.Kind == pull.Kinetic {
		l.speed(p, r)
	}
	p.Remark = strings.Join(*r, "; ")
	return p
}

// reasons collects what a remark is made of.
type reasons []string

func (r *reasons) say(why string) { *r = append(*r, why) }

func (l Logged) masses(p *Pull, r *reasons) {
	stuck := l.Reference()
	p.Puller, p.Reference, p.ReferenceLow, p.ReferenceHigh = l.puller().Value, stuck.Value, stuck.Low, stuck.High
	switch {
	case stuck.From != "":
		r.say(words.Say("shock.reference-mass", stuck.From))
	case l.Rig == nil:
		r.say(words.Say("shock.missing.rig"))
	default:
		r.say(words.Say("shock.mass.none", l.Rig.Stuck.Name))
	}
}

// saidAtThePull is where a mass is from that a person gave with the pull.
func saidAtThePull() string { return words.Say("shock.said") }

// Reference is the mass of the stuck vehicle, which the peak is measured
// against: as said at the pull, else of the vehicle of the rig.
func (l Logged) Reference() gear.Mass {
	switch {
	case l.StuckMass != nil:
		return gear.MassSaid(*l.StuckMass, l.StuckWithin, saidAtThePull())
	case l.Rig != nil:
		return l.Rig.Stuck.Mass()
	}
	return gear.Mass{}
}

func (l Logged) puller() gear.Mass {
	switch {
	case l.PullerMass != nil:
		return gear.MassSaid(*l.PullerMass, nil, saidAtThePull())
	case l.Rig != nil:
		return l.Rig.Pulling.Mass()
	}
	return gear.Mass{}
}

// lineKinds are the items that make a line, the one that says most of its
// stretch first.
var lineKinds = [...]gear.Kind{gear.KineticRope, gear.RecoveryStrap, gear.TowStrap, gear.WinchRope, gear.ExtensionStrap, gear.Chain}

// line fills in the strap.
func (l Logged) line(p *Pull, r *reasons) {
	places, err := l.Rig.LinePlaces("")
	if err != nil {
		r.say(words.Say("shock.rig.unsolved", err))
		return
	}
	straps := lineOf(places)
	if len(straps) == 0 {
		r.say(words.Say("shock.missing.strap"))
		return
	}
	first := straps[0].Use.Item
	p.Class.Strap = string(first.Kind)
	if l.ByItem {
		p.Class.Strap = first.Name
	}
	p.StrapLength, p.StrapMBS = lengthAndStrength(straps, r)
	if share := l.share(straps[0].Ref); share != 1 {
		r.say(words.Say("shock.peak.cell", first.Name, share))
	}
}

// lineOf gives the items of the first of lineKinds that there is, and with a
// stretching one every other that stretches.
func lineOf(places []rig.Place) (straps []rig.Place) {
	for _, kind := range lineKinds {
		for _, p := range places {
			k := p.Use.Item.Kind
			if !p.Paired && (k == kind || kind.Stretches() && k.Stretches()) {
				straps = append(straps, p)
			}
		}
		if len(straps) > 0 {
			return straps
		}
	}
	return nil
}

// lengthAndStrength gives the length and the breaking strength of straps that
// follow each other: lengths add, the weakest breaks. Unlike ones have neither,
// because no one stiffness is theirs.
func lengthAndStrength(straps []rig.Place, r *reasons) (length unit.Length, mbs unit.Force) {
	for i, p := range straps {
		it := p.Use.Item
		if it.Kind != straps[0].Use.Item.Kind {
			r.say(words.Say("shock.strap.follows", it.Kind.Words(), straps[0].Use.Item.Kind.Words()))
			return 0, 0
		}
		own := it.StatedMBS()
		if it.Length == nil || own == 0 {
			return 0, 0
		}
		length += *it.Length
		if i == 0 || own < mbs {
			mbs = own
		}
	}
	if len(straps) > 1 {
		r.say(words.Count("shock.straps", len(straps)))
	}
	return length, mbs
}

// share is what the item at a place carries of the cell's reading; 1 also
// where that is not known.
func (l Logged) share(ref string) float64 {
	places, err := l.Rig.PlacesBy(l.Rig.CellRead(l.Cell))
	if err != nil {
		return 1
	}
	i := slices.IndexFunc(places, func(p rig.Place) bool { return p.Ref == ref })
	if i < 0 || math.Abs(places[i].Share.Factor-1) < 0.005 {
		return 1
	}
	return places[i].Share.Factor
}

// apart is by how much the speed that was said and the one from the trace may
// differ before it is remarked on; common practice, no source.
const apart = 0.25

// speed remarks on a speed that is not the one from the trace.
func (l Logged) speed(p Pull, r *reasons) {
	if s := l.apart(p); s != "" {
		r.say(s)
	}
}

// SpeedApart says that the speed that was said and the trace disagree, or
// nothing where they do not or where that cannot be told.
func (l Logged) SpeedApart() string { return l.apart(FromLog(l)) }

// apart compares the speeds. At the peak both vehicles have one speed; where
// the stuck one came along freely before it, the puller had lost only its share
// of the reduced mass.
func (l Logged) apart(p Pull) string {
	lost, ok := SpeedFromTrace(l.Found, p.Puller)
	ratio := float64(p.Speed / lost)
	if p.Speed == 0 || !ok || math.Abs(1/ratio-1) <= apart {
		return ""
	}
	why := "driven"
	if ratio > 1 && p.Reference > 0 && ratio < 1+float64(p.Puller/p.Reference) {
		why = "early"
	}
	return words.Say("shock.apart."+why, p.Speed, lost)
}

// SpeedFromTrace is the speed that a puller of mass m lost up to the peak, by
// the impulse of the line until then: its speed when the line came taut, as far
// as its drive was small and the stuck vehicle stood until the peak. It is an
// estimate for people to compare with, and for no fit. It is false where the
// mass is not known, and where the trace does not show the whole rise.
func SpeedFromTrace(found pull.Pull, m unit.Mass) (unit.Speed, bool) {
	for _, f := range found.Flags {
		switch f {
		case pull.FlagUnderWay, pull.FlagGap, pull.FlagGapAtPeak, pull.FlagOverload, pull.FlagStanding, pull.FlagPeakAtLimit:
			return 0, false
		}
	}
	if !(m > 0) || !(found.ToPeak > 0) {
		return 0, false
	}
	return kinetic.SpeedLost(found.ToPeak, m), true
}
