package gear

import (
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Situation is a use of an item, as far as its ratings depend on it.
type Situation struct {
	// Heading is how the line lies at this item.
	Heading Heading
	// Paired says that the item carries as one of two through a bridle.
	Paired bool
	// PairHeading is how the line lies to the pair as a whole. A pair rating
	// is stated for it.
	PairHeading Heading
}

// Bound is a rating as it holds for one item in one use.
type Bound struct {
	// Value is the force that this item alone may not exceed.
	Value unit.Force
	// Rating is where it comes from.
	Rating Rating
	// Fraction is what the direction leaves of the rating.
	Fraction float64
	// Halved says that the rating is of a pair and Value half of it.
	Halved bool
	// Sure says that the rating is known to hold in this use.
	Sure bool
	// Why says why it is not sure.
	Why string
}

// Strength is all that an item's ratings say about one use. A nil bound is
// not known.
type Strength struct {
	// Working is the working limit.
	Working *Bound
	// WLL is the WLL behind or beside it.
	WLL *Bound
	// Breaking is the breaking strength. It holds whatever the direction:
	// more than the strength in line breaks an item at an angle too.
	Breaking *Bound
	// Ceiling is the lowest number of no working basis - stamped without a
	// basis, or a proof load - that must not be exceeded.
	Ceiling *Bound
	// Refused says, for each rating that is not for this use, why.
	Refused []string
}

// Strength picks from the item's ratings those that speak for the situation.
// Of several, the one with the narrowest condition on direction speaks, and
// of equals the lowest; a rating alone and a rating as a pair must both hold.
func (it Item) Strength(s Situation) Strength {
	var out Strength
	var best pick
	for _, r := range it.Ratings {
		b, why := it.bound(r, s)
		if b == nil {
			out.Refused = append(out.Refused, why)
			if r.Basis == MBS && (r.Together != Pair || s.Paired) {
				best.breaking = lower(best.breaking, breaking(r))
			}
			continue
		}
		best.add(*b)
	}
	best.into(&out)
	return out
}

// bound is the rating as it holds in the situation, or nil with the reason
// why it is not for it.
func (it Item) bound(r Rating, s Situation) (*Bound, string) {
	h, share := s.Heading, 1.0
	if r.Together == Pair {
		if !s.Paired {
			return nil, words.Say("item.pairalone")
		}
		h, share = s.PairHeading, 0.5
	}
	m := r.Direction.Match(it.Kind, h)
	if m.Fit == Refused {
		return nil, m.Why
	}
	return &Bound{
		Value: r.Value * unit.Force(m.Fraction*share), Rating: r, Fraction: m.Fraction,
		Halved: share != 1, Sure: m.Fit == Applies, Why: m.Why,
	}, ""
}

// breaking is the strength in line, which nothing raises.
func breaking(r Rating) *Bound {
	v := r.Value
	if r.Together == Pair {
		v /= 2
	}
	return &Bound{Value: v, Rating: r, Fraction: 1, Halved: r.Together == Pair, Sure: true}
}

// pick gathers the bounds by what they are; alone and pair apart.
type pick struct {
	wll, factored     [2]*Bound
	breaking, ceiling *Bound
}

func (p *pick) add(b Bound) {
	i := 0
	if b.Halved {
		i = 1
	}
	switch b.Rating.Basis {
	case WLL:
		p.wll[i] = narrower(p.wll[i], &b)
	case MBS:
		p.breaking = lower(p.breaking, breaking(b.Rating))
		if working, ok := b.Rating.Working(); ok {
			b.Value *= working / b.Rating.Value
			p.factored[i] = narrower(p.factored[i], &b)
		}
	default:
		p.ceiling = lower(p.ceiling, &b)
	}
}

// into writes what was gathered: the WLL where there is one, else the MBS
// over its design factor.
func (p pick) into(s *Strength) {
	for i := range p.wll {
		s.WLL = lower(s.WLL, p.wll[i])
		w := p.wll[i]
		if w == nil {
			w = p.factored[i]
		}
		s.Working = lower(s.Working, w)
	}
	s.Breaking, s.Ceiling = p.breaking, p.ceiling
}

func lower(a, b *Bound) *Bound {
	if a == nil || b != nil && b.Value < a.Value {
		return b
	}
	return a
}

// narrowness orders the conditions: the narrower one that still holds was
// stated for this use.
func narrowness(d Direction) (rule int, max unit.Angle) {
	switch d.Rule {
	case StraightOnly:
		return 0, 0
	case UpTo:
		return 1, d.Max
	case FullTurn:
		return 2, 0
	case SideLoadSteps:
		return 3, 0
	case AnyDirection:
		return 4, 0
	}
	return 5, 0
}

// narrower prefers what is sure, then the narrower condition, then the lower
// value.
func narrower(a, b *Bound) *Bound {
	if a == nil {
		return b
	}
	if a.Sure != b.Sure {
		if b.Sure {
			return b
		}
		return a
	}
	ra, ma := narrowness(a.Rating.Direction)
	rb, mb := narrowness(b.Rating.Direction)
	switch {
	case rb < ra || rb == ra && mb < ma:
		return b
	case rb == ra && mb == ma:
		return lower(a, b)
	}
	return a
}
