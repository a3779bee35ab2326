package steady

import "tautlog/calc/unit"

// Range is a value that is known between two ends.
type Range[T ~float64] struct {
	Low, Likely, High T
}

// Load is a force that is known between two ends.
type Load = Range[unit.Force]

// Share is a share of the weight that is known between two ends.
type Share = Range[float64]

// Exactly is a range without width.
func Exactly[T ~float64](v T) Range[T] { return Range[T]{v, v, v} }

// Between is the range from low to high. Its likely value is the middle.
func Between[T ~float64](low, high T) Range[T] { return Range[T]{low, low + (high-low)/2, high} }

// Wide tells whether the ends differ.
func (r Range[T]) Wide() bool { return r.High > r.Low }

// valid tells whether the range runs upwards from zero or more to at most
// most. NaN is refused.
func (r Range[T]) valid(most T) bool {
	return r.Low >= 0 && r.Low <= r.Likely && r.Likely <= r.High && r.High <= most
}

// each is the range with f, which never falls, at all three values.
func each[A, B ~float64](r Range[A], f func(A) B) Range[B] {
	return Range[B]{f(r.Low), f(r.Likely), f(r.High)}
}

// of is the share of a weight.
func of(s Share, weight unit.Force) Load {
	return each(s, func(v float64) unit.Force { return unit.Force(v) * weight })
}

func plus(a, b Load) Load {
	return Load{a.Low + b.Low, a.Likely + b.Likely, a.High + b.High}
}
