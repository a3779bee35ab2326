package shock

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Offer is what a club can pull with. What is left open is taken from the log.
type Offer struct {
	Speeds  []unit.Speed
	Straps  []OfferedStrap
	Grounds []string
	Puller  unit.Mass
	Stuck   unit.Mass
}

// OfferedStrap is a strap that a club has; length and strength are zero where
// they are not known.
type OfferedStrap struct {
	Name   string
	Length unit.Length
	MBS    unit.Force
}

// ParseOffered reads "NAME" or "NAME, LENGTH, MBS", as "red rope, 9m, 110kN".
func ParseOffered(s string) (o OfferedStrap, err error) {
	parts := strings.Split(s, ",")
	if o.Name = strings.TrimSpace(parts[0]); len(parts) == 1 && o.Name != "" {
		return o, nil
	}
	if len(parts) != 3 || o.Name == "" {
		return o, words.Error("shock.strap.name", s)
	}
	if o.Length, err = unit.ParseLength(strings.TrimSpace(parts[1])); err != nil {
		return o, err
	}
	if o.MBS, err = unit.ParseForce(strings.TrimSpace(parts[2])); err != nil {
		return o, err
	}
	if !(o.Length > 0) || !(o.MBS > 0) {
		return o, words.Error("shock.strap.zero", s)
	}
	return o, nil
}

// orLogged fills what is left open with what the log has.
func (o Offer) orLogged(k knowledge, target Pull) Offer {
	grounds, straps := index[string]{}, index[string]{}
	for _, p := range k.set.Used {
		if p.Class.Kind == target.Class.Kind {
			grounds.of(p.Class.Ground)
			straps.of(p.Class.Strap)
		}
	}
	if len(o.Grounds) == 0 {
		o.Grounds = names(grounds)
	}
	if len(o.Straps) == 0 {
		for _, name := range names(straps) {
			o.Straps = append(o.Straps, OfferedStrap{Name: name})
		}
	}
	o.Straps = slices.Clone(o.Straps)
	for i, s := range o.Straps {
		var like Pull
		like.take(k.set.Used, func(p Pull) bool { return p.Class.Kind == target.Class.Kind && p.Class.Strap == s.Name }, true)
		if s.Length == 0 && s.MBS == 0 {
			o.Straps[i].Length, o.Straps[i].MBS = like.StrapLength, like.StrapMBS
		}
	}
	o.Puller, o.Stuck = cmp.Or(o.Puller, target.Puller), cmp.Or(o.Stuck, target.Reference)
	if len(o.Speeds) == 0 {
		o.Speeds = k.speeds(target.Class)
	}
	return o
}

func names(x index[string]) (all []string) {
	for name := range x {
		all = append(all, name)
	}
	slices.Sort(all)
	return all
}

// speeds are whole kilometres an hour from the slowest to the fastest logged
// pull of the kind, up to eight of them, or a single zero where no speed is
// known.
func (k knowledge) speeds(like Class) (all []unit.Speed) {
	const kmh, most = 1 / 3.6, 8
	low, high := math.Inf(1), 0.0
	for _, p := range k.set.Used {
		if p.Class.Kind == like.Kind && p.Speed > 0 {
			low, high = math.Min(low, float64(p.Speed)), math.Max(high, float64(p.Speed))
		}
	}
	if high == 0 {
		return []unit.Speed{0}
	}
	first, last := math.Max(1, math.Floor(low/kmh+0.5)), math.Max(1, math.Floor(high/kmh+0.5))
	step := math.Ceil((last - first + 1) / most)
	for v := first; v <= last; v += step {
		all = append(all, unit.Speed(v*kmh))
	}
	return all
}

// pulls are all pulls of the target's kind that can be made of it.
func (o Offer) pulls(target Pull) (all []Pull) {
	for _, ground := range o.Grounds {
		for _, s := range o.Straps {
			for _, v := range o.Speeds {
				all = append(all, Pull{
					Class: Class{target.Class.Kind, ground, s.Name}, Speed: v, Puller: o.Puller, Reference: o.Stuck,
					StrapLength: s.Length, StrapMBS: s.MBS,
				})
			}
		}
	}
	return all
}
