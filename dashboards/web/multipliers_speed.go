package web

import (
	"net/url"
	"slices"

	"tautlog/analysis/shock"
)

// speedRows tell what pulls of known speed say of straps and grounds.
func speedRows(r *shock.SpeedRecord) []row {
	if r == nil || r.Pulls == 0 {
		return nil
	}
	var out []row
	for _, c := range r.Straps {
		out = append(out, row{Name: shock.StrapName(c.Name), Says: text("speed.strap", c.Stretch(), c.Words()), Rests: []string{count("shock.pulls", c.Pulls)}})
	}
	for _, c := range r.Grounds {
		out = append(out, row{Name: shock.GroundName(c.Name), Says: text("speed.ground", c.Words()), Rests: []string{count("shock.pulls", c.Pulls)}})
	}
	return out
}

// strapsOf are the straps of which a set tells what speed does, that with the
// most pulls first.
func strapsOf(k shock.Kept) (out []string) {
	if k.Fit == nil || k.Fit.Speed == nil {
		return nil
	}
	straps := slices.Clone(k.Fit.Speed.Straps)
	slices.SortStableFunc(straps, func(a, b shock.CoefficientRecord) int { return b.Pulls - a.Pulls })
	for _, c := range straps {
		out = append(out, c.Name)
	}
	return out
}

// figure is a chart that the script fetches and draws.
type figure struct{ Kind, URL, Label string }

// setFigure is a chart of a set, which can be had as a file too.
type setFigure struct {
	figure
	File string // its address, but for the format
}

func figureOf(kind, set, strap string) setFigure {
	q := url.Values{"set": {set}}
	if strap != "" {
		q.Set("strap", strap)
	}
	return setFigure{figure{kind, "/api/multipliers/" + kind + "?" + q.Encode(), text("figure." + kind)}, "/multipliers/figures/" + kind + "?" + q.Encode()}
}
