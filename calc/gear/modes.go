package gear

import (
	"math"

	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// shearResistance is that of one bolt: αv·fub·A/γM2, with A = As and the
// class's αv where the joint cuts the thread, and 0.6 and the whole shank
// where it cuts that. EN 1993-1-8 Table 3.4.
func (j *joint) shearResistance() (r, alpha, area float64) {
	alpha, area = j.class.alphaV, j.area
	if j.bolts.Plane == ThroughShank {
		alpha, area = 0.6, math.Pi/4*j.size.diameter*j.size.diameter
	}
	return alpha * j.class.fub * area / gammaM2, alpha, area
}

// boltModes are the ways in which the bolts fail: shear, tension
// 0.9·fub·As/γM2, and both with Fv/FvRd + Ft/(1.4·FtRd) <= 1. EN 1993-1-8
// Table 3.4; the last two from memory.
func (j *joint) boltModes() {
	fv, alpha, area := j.shearResistance()
	ft := 0.9 * j.class.fub * j.area / gammaM2
	if j.shear > 0 {
		j.mode("shear", fv/j.shear, alpha, j.class.fub, area, fv, j.shear)
	}
	if j.pull > 0 {
		j.mode("tension", ft/j.pull, j.class.fub, j.area, ft, j.pull)
	}
	if j.shear > 0 && j.pull > 0 {
		j.mode("both", 1/(j.shear/fv+j.pull/(1.4*ft)),
			j.shear, fv, j.pull, ft)
	}
}

// plateModes are the ways in which the plate fails at the bolts: bearing and
// punching.
func (j *joint) plateModes(p *Plate) {
	if p == nil || p.Thickness == nil || p.Steel == "" {
		j.out.Missing = append(j.out.Missing, words.Say("item.estimate.plate"))
		return
	}
	t, fu := float64(*p.Thickness)*1000, p.Steel.ultimate()
	if j.shear > 0 {
		j.bearing(t, fu)
	}
	if j.pull > 0 {
		j.punching(t, fu)
	}
}

// bearing is that of the plate at one bolt: k1·αb·fu·d·t/γM2, with αb the
// least of e1/(3 d0), p1/(3 d0) − 1/4, fub/fu and 1, and k1 the least of
// 2.8 e2/d0 − 1.7, 1.4 p2/d0 − 1.7 and 2.5. EN 1993-1-8 Table 3.4, from
// memory.
func (j *joint) bearing(t, fu float64) {
	b := j.bolts
	if b.End == nil || b.Edge == nil {
		j.out.Missing = append(j.out.Missing, words.Say("item.estimate.distances"))
		return
	}
	d0 := j.hole()
	if b.cramped(d0) {
		j.out.Missing = append(j.out.Missing, words.Say("item.estimate.cramped"))
		return
	}
	alpha := min(mm(*b.End)/(3*d0), j.class.fub/fu, 1)
	k1 := min(2.8*mm(*b.Edge)/d0-1.7, 2.5)
	if b.Spacing != nil {
		alpha = min(alpha, mm(*b.Spacing)/(3*d0)-0.25)
	}
	if b.Gauge != nil {
		k1 = min(k1, 1.4*mm(*b.Gauge)/d0-1.7)
	}
	if b.Count > 1 && (b.Spacing == nil || b.Gauge == nil) {
		j.out.Assumed = append(j.out.Assumed, words.Say("item.estimate.spacing"))
	}
	r := k1 * alpha * fu * j.size.diameter * t / gammaM2
	j.mode("bearing", r/j.shear, k1, alpha, fu, j.size.diameter, t, r, j.shear)
}

// cramped says that holes of this diameter are nearer to an edge or to each
// other than EN 1993-1-8 Table 3.3 allows (1.2, 2.2 and 2.4 diameters, from
// memory): its formulas say nothing there.
func (b Bolts) cramped(d0 float64) bool {
	less := func(l *unit.Length, diameters float64) bool { return l != nil && mm(*l) < diameters*d0-1e-9 }
	return less(b.End, 1.2) || less(b.Edge, 1.2) || less(b.Spacing, 2.2) || less(b.Gauge, 2.4)
}

// hole is the diameter of the holes in mm: as recorded, or that of a normal
// round hole by EN 1090-2, from memory.
func (j *joint) hole() float64 {
	if j.bolts.Hole != nil {
		return mm(*j.bolts.Hole)
	}
	j.out.Assumed = append(j.out.Assumed, words.Say("item.estimate.clearance"))
	switch d := j.size.diameter; {
	case d <= 14:
		return d + 1
	default:
		return d + 2
	}
}

// punching is that of the plate under one head or nut: 0.6·π·dm·t·fu/γM2,
// with dm the mean of the distances across its flats and its corners.
// EN 1993-1-8 Table 3.4, from memory.
func (j *joint) punching(t, fu float64) {
	dm := j.size.flats * (1 + 2/math.Sqrt(3)) / 2
	r := 0.6 * math.Pi * dm * t * fu / gammaM2
	j.mode("punching", r/j.pull, dm, t, fu, r, j.pull)
}

func mm(l unit.Length) float64 { return float64(l) * 1000 }
