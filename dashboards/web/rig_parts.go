package web

import (
	"bytes"
	"encoding/json"
	"errors"

	"tautlog/calc/gear"
	"tautlog/calc/rig"
)

// copyOf is a rig that shares nothing with the one it was made from.
func copyOf(g rig.Rig) (rig.Rig, error) {
	var b bytes.Buffer
	if err := rig.Encode(&b, g); err != nil {
		return g, err
	}
	return rig.DecodeDraft(&b)
}

// eachUse goes through every item of a rig, in the order of the chain.
func eachUse(g *rig.Rig, f func(*rig.Use) error) error {
	for i := range g.Chain {
		for _, us := range usesOf(&g.Chain[i]) {
			for _, u := range us {
				if err := f(u); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

// usesOf lists the items of a link, part by part.
func usesOf(l *rig.Link) [][]*rig.Use {
	switch {
	case l.Use != nil:
		return [][]*rig.Use{{l.Use}}
	case l.Bridle != nil:
		var strap []*rig.Use
		if l.Bridle.Strap != nil {
			strap = []*rig.Use{l.Bridle.Strap}
		}
		return [][]*rig.Use{strap, pointers(l.Bridle.Left), pointers(l.Bridle.Right)}
	case l.Redirect != nil:
		return [][]*rig.Use{pointers(l.Redirect.Block)}
	case l.Tackle != nil:
		out := [][]*rig.Use{pointers(l.Tackle.Fall), pointers(l.Tackle.Dead)}
		for _, sheave := range l.Tackle.Sheaves {
			out = append(out, pointers(sheave))
		}
		return out
	}
	return nil
}

func pointers(us []rig.Use) (out []*rig.Use) {
	for i := range us {
		out = append(out, &us[i])
	}
	return out
}

// sameItem compares what two copies of an item say.
func sameItem(a, b gear.Item) bool {
	x, errX := json.Marshal(a)
	y, errY := json.Marshal(b)
	return errX == nil && errY == nil && bytes.Equal(x, y)
}

// wrongsOf lists why a rig cannot be judged, each with its place.
func wrongsOf(g rig.Rig) (out []string) {
	bad, ok := errors.AsType[*rig.ValidationError](g.Validate())
	if !ok {
		return nil
	}
	for _, p := range bad.Problems {
		say := sentence(p.Text)
		if p.Path != "" {
			say = p.Path + ": " + say
		}
		out = append(out, say)
	}
	return out
}
