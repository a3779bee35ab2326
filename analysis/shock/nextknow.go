package shock

import (
	"math"

	"tautlog/analysis/pull"
	"tautlog/calc/unit"
)

// knowledge is all that logged pulls say of those to come.
type knowledge struct {
	set          Set
	speed        *SpeedFit
	assumed      float64
	fastest      map[string]unit.Speed // by strap
	classFastest map[Class]unit.Speed
	slowest      unit.Speed      // of those that are offered
	done         <-chan struct{} // closed when the answer is not wanted any more
}

func learn(f *Fitted, assumed float64) knowledge {
	k := knowledge{
		set: f.Set, speed: f.Speed, assumed: assumed,
		fastest: map[string]unit.Speed{}, classFastest: map[Class]unit.Speed{},
	}
	for _, p := range k.set.Used {
		k.fastest[p.Class.Strap] = max(k.fastest[p.Class.Strap], p.Speed)
		k.classFastest[p.Class] = max(k.classFastest[p.Class], p.Speed)
	}
	return k
}

// fastestOf is the fastest logged pull of the kind.
func (k knowledge) fastestOf(kind pull.Kind) (most unit.Speed) {
	for c, v := range k.classFastest {
		if c.Kind == kind {
			most = max(most, v)
		}
	}
	return most
}

// class is the fit of a class, or nil.
func (k knowledge) class(of Class) *ClassFit {
	for i, c := range k.set.Classes {
		if c.Class == of {
			return &k.set.Classes[i]
		}
	}
	return nil
}

// widest is the class with the largest bound over its median among those that
// fit what is given, or nil where none does.
func (k knowledge) widest(given Class) *Class {
	var best *Class
	most := math.Inf(-1)
	for i, c := range k.set.Classes {
		if c.Class.Kind != given.Kind || given.Ground != "" && c.Class.Ground != given.Ground || given.Strap != "" && c.Class.Strap != given.Strap {
			continue
		}
		width := 0.0 // without a bound, any with one comes first
		if c.Upper != nil {
			width = *c.Upper / c.Median
		}
		if width > most {
			most, best = width, &k.set.Classes[i].Class
		}
	}
	return best
}

// latest puts together a pull of what is known of the latest of the class, or
// else of its strap, or else of its kind.
func (k knowledge) latest(of Class) (p Pull) {
	for _, alike := range []func(Pull) bool{
		func(q Pull) bool { return q.Class == of },
		func(q Pull) bool { return q.Class.Strap == of.Strap && q.Class.Kind == of.Kind },
	} {
		p.take(k.set.Used, alike, true)
	}
	p.take(k.set.Used, func(q Pull) bool { return q.Class.Kind == of.Kind }, false)
	return p
}

// take fills what is not yet known of p from the last of the pulls of which it
// is.
func (p *Pull) take(from []Pull, alike func(Pull) bool, strap bool) {
	for i := len(from) - 1; i >= 0; i-- {
		q := from[i]
		if !alike(q) {
			continue
		}
		if p.Reference == 0 {
			p.Reference = q.Reference
		}
		if p.Puller == 0 {
			p.Puller = q.Puller
		}
		if strap && (p.StrapLength == 0 || p.StrapMBS == 0) && q.StrapLength > 0 && q.StrapMBS > 0 {
			p.StrapLength, p.StrapMBS = q.StrapLength, q.StrapMBS
		}
	}
}

// foresee says what is to be expected of a pull by the most specific evidence:
// the speed fit where it has a bound; else the bound of the class; else the
// assumed multiplier. The bound is never below the peak that the speed fit
// expects.
func (k knowledge) foresee(p Pull) NextPull {
	n := NextPull{Pull: p, Basis: ByAssumed}
	weight := p.Reference.Weight()
	n.Upper = unit.Force(k.assumed) * weight
	c := k.class(p.Class)
	if c != nil {
		middle := unit.Force(c.Median) * weight
		n.Expected = &middle
		if c.Upper != nil {
			n.Upper, n.Basis = unit.Force(*c.Upper)*weight, ByClass
		}
	}
	modelled := false
	if k.speed != nil {
		if expected, upper, err := k.speed.Peak(p); err == nil {
			modelled = true
			n.Expected = &expected
			if upper != nil {
				n.Upper, n.Basis = *upper, BySpeed
			}
			n.Upper = max(n.Upper, expected)
		}
	}
	n.First = n.Basis == ByAssumed && !modelled && c == nil
	return n
}
