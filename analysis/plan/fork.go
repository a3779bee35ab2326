package plan

import (
	"slices"
	"strconv"
	"strings"

	"tautlog/analysis/rating"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
)

// Fork is a bridle of a rig, with what its legs would carry at other angles.
type Fork struct {
	// Vehicle is the name of the vehicle that it is at.
	Vehicle string
	// Included is the angle between the legs in the rig.
	Included unit.Angle
	// Equaliser says that something lets the legs share. Otherwise either leg
	// may carry Alone.
	Equaliser bool
	// Alone is the share of the line's force that a leg carries by itself.
	Alone float64
	// Legs are what each leg carries where they share, by the angle: those that
	// tables print, and that of the rig.
	Legs []Leg
}

// Leg is what a leg of a bridle carries at an angle.
type Leg struct {
	Included unit.Angle
	Share    float64    // of the line's force
	Force    unit.Force // at the force to plan with
}

// printed are the included angles of the rows, in degrees: round ones, up to
// the 120° at which published tables end.
func printed() []float64 { return []float64{0, 30, 45, 60, 90, 120} }

// forks lists the bridles of a rig that was judged.
func forks(r rig.Rig, res rating.Result) (out []Fork) {
	high := max(res.Peak.Value, res.Peak.High)
	for i, l := range r.Chain {
		if l.Bridle == nil {
			continue
		}
		f := Fork{Vehicle: r.Pulling.Name, Included: l.Bridle.Included, Equaliser: l.Bridle.Equaliser, Alone: line(res, i+1, *l.Bridle)}
		if i > 0 {
			f.Vehicle = r.Stuck.Name
		}
		for _, a := range angles(f.Included) {
			share := f.Alone * rig.LegShare(a)
			f.Legs = append(f.Legs, Leg{a, share, unit.Force(share) * high})
		}
		out = append(out, f)
	}
	return out
}

// angles are the printed ones with that of the rig among them.
func angles(own unit.Angle) (out []unit.Angle) {
	degrees := append(printed(), own.Degrees())
	slices.Sort(degrees)
	for _, d := range degrees {
		if len(out) == 0 || d-out[len(out)-1].Degrees() > 0.05 {
			out = append(out, unit.Degrees(d))
		}
	}
	return out
}

// line is the share of the force at which the whole line reaches the bridle
// that is the link of this number.
func line(res rating.Result, link int, b rig.Bridle) float64 {
	for _, it := range res.Items {
		if strings.HasPrefix(it.Ref, strconv.Itoa(link)+".") {
			return it.Share.Factor / rig.LegShare(b.Included)
		}
	}
	return 1
}
