package unit

import (
	"math"
	"slices"
)

// Place is what the last digit of a printed number stands for, in the unit that
// is printed: a power of ten. 0 leaves the digits to the number itself.
type Place float64

// mostDigits is how many significant digits a measured number is told with at
// most: the instruments behind it know no more.
const mostDigits = 4

// placeOf is the one rule for the digits of what has an interval: the second
// significant digit of half the width of the interval, once that is rounded up
// to two (JCGM 100:2008, 7.2.6: at most two digits of an uncertainty; from
// memory), and none of the numbers is told with more than four. It is 0 where
// nothing is known of the width and of an interval without one.
func placeOf(half float64, told ...float64) Place {
	half = math.Abs(half)
	if !(half > 0) || math.IsInf(half, 0) {
		return 0
	}
	p := digit(half, 2)
	for _, v := range told {
		if v != 0 && !math.IsInf(v, 0) && !math.IsNaN(v) {
			p = max(p, digit(v, mostDigits))
		}
	}
	return p
}

// digit is the place of the nth significant digit of v, which is not 0, as it
// is after v was rounded up there: 99.996 with four digits becomes 100.0.
func digit(v float64, n int) Place {
	p := digitAt(v, n)
	if math.Ceil(math.Abs(v)/float64(p)-sliver) >= math.Pow10(n) {
		p *= 10
	}
	return p
}

// digitAt is the place of the nth significant digit of v, which is not 0.
func digitAt(v float64, n int) Place {
	return Place(math.Pow10(int(math.Floor(math.Log10(math.Abs(v)))) - n + 1))
}

// sliver is the part of a last digit that is none: what converting a unit leaves
// behind.
const sliver = 1e-7

// below is v in the place at or below it, for the low end of an interval.
func (p Place) below(v float64) float64 { return p.round(v, -sliver, math.Floor) }

// above is v in the place at or above it, for the high end.
func (p Place) above(v float64) float64 { return p.round(v, sliver, math.Ceil) }

// near is v in the nearest place.
func (p Place) near(v float64) float64 { return p.round(v, 0, math.Round) }

func (p Place) round(v, sliver float64, way func(float64) float64) float64 {
	if p <= 0 || math.IsInf(v, 0) || math.IsNaN(v) {
		return v
	}
	return way(v/float64(p)-sliver) * float64(p)
}

// Load is a force that is held against a limit, with its interval; Low and High
// are equal where none is known.
type Load struct{ Value, Low, High Force }

// Apart is the place down to which loads and their limit have to be told so that
// each load, and each end of its interval, reads as on the side of the limit that
// it is on; 0 where the digits that all have anyway tell it, or where they are
// equal.
func Apart(limit Force, u ForceUnit, loads ...Load) Place {
	l := limit.In(u)
	q := plainPlace(l)
	var all []measured
	least, apart := q, true
	for _, f := range loads {
		m := measured{f.Value.In(u), f.Low.In(u), f.High.In(u)}
		p := IntervalPlace(f.Value, f.Low, f.High, u)
		if p == 0 {
			m.low, m.high, p = m.value, m.value, plainPlace(m.value)
		}
		all, least, apart = append(all, m), min(least, p), apart && m.reads(p, l, q)
	}
	if apart {
		return 0
	}
	unclear := func(m measured) bool { return !m.reads(least, l, least) }
	for i := 0; i < mostApart && slices.ContainsFunc(all, unclear); i++ {
		least /= 10
	}
	return least
}

// mostApart is how many digits more than usual a difference is worth.
const mostApart = 6

// measured is a number with the ends of its interval.
type measured struct{ value, low, high float64 }

// reads says whether a number and the ends of its interval, told down to p, are
// on the same side of a limit, told down to q, as they truly are.
func (m measured) reads(p Place, limit float64, q Place) bool {
	low, high := p.below(m.low), p.above(m.high)
	if m.low == m.high {
		low, high = p.near(m.low), p.near(m.high)
	}
	limitTold, little := q.near(limit), float64(min(p, q))/2
	same := func(v, told float64) bool {
		return side(v, limit, 1e-9*math.Abs(limit)) == side(told, limitTold, little)
	}
	return same(m.value, p.near(m.value)) && same(m.low, low) && same(m.high, high)
}

// side is on which side of b a is: 1 above, -1 below, 0 no further than little.
func side(a, b, little float64) int {
	switch {
	case a > b+little:
		return 1
	case a < b-little:
		return -1
	}
	return 0
}

// plainPlace is the place of the third digit, that of numbers without an
// interval; 0 of 0.
func plainPlace(v float64) Place {
	if v == 0 || math.IsInf(v, 0) || math.IsNaN(v) {
		return 0
	}
	return digitAt(v, 3)
}
