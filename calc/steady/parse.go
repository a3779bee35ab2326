package steady

import (
	"strings"

	"tautlog/calc/words"
)

// ParseRange reads a quantity such as "3kN", or two with ".." between them,
// "3kN..5kN". What is the quantity called in a refusal; none may be below
// zero.
func ParseRange[T ~float64](s, what string, parse func(string) (T, error)) (Range[T], error) {
	first, last, two := strings.Cut(s, "..")
	low, err := parse(first)
	high := low
	if two && err == nil {
		high, err = parse(last)
	}
	switch {
	case err != nil:
		return Range[T]{}, err
	case low < 0:
		return Range[T]{}, words.Error("steady.wrong.below", what)
	case high < low:
		return Range[T]{}, words.Error("steady.range.order", s)
	}
	return Between(low, high), nil
}
