package rig

import (
	"fmt"
	"slices"
	"strings"
)

// term is one factor of a share: a number, or something named such as
// "cos 30°" that is kept in symbols.
type term struct {
	text  string // empty for a number
	value float64
}

// product is a share as factors above and below the line, times the reading.
type product struct{ above, below []term }

func number(v float64) term             { return term{value: v} }
func named(text string, v float64) term { return term{text, v} }

// times multiplies by the terms.
func (p product) times(t ...term) product {
	return product{append(slices.Clone(p.above), t...), p.below}
}

// over divides by the terms.
func (p product) over(t ...term) product {
	return product{p.above, append(slices.Clone(p.below), t...)}
}

// relative divides by q and cancels what stands above and below.
func (p product) relative(q product) product {
	r := product{slices.Concat(p.above, q.below), slices.Concat(p.below, q.above)}
	for i := 0; i < len(r.above); i++ {
		if j := slices.Index(r.below, r.above[i]); j >= 0 {
			r.above = slices.Delete(r.above, i, i+1)
			r.below = slices.Delete(r.below, j, j+1)
			i--
		}
	}
	return r
}

func (p product) value() float64 {
	v := 1.0
	for _, t := range p.above {
		v *= t.value
	}
	for _, t := range p.below {
		v /= t.value
	}
	return v
}

// formula writes the product with F for the reading, "F / (2 cos 30°) =
// 0.58 F", or without the figure where it says no more: "F", "2 F".
func (p product) formula() string {
	above, below := parts(p.above, "F"), parts(p.below, "")
	text := strings.Join(above, " ")
	switch len(below) {
	case 0:
		if !p.named() {
			return text
		}
	case 1:
		text += " / " + below[0]
	default:
		text += " / (" + strings.Join(below, " ") + ")"
	}
	return fmt.Sprintf("%s = %.2f F", text, p.value())
}

// named says whether a named term stands above the line.
func (p product) named() bool {
	return slices.ContainsFunc(p.above, func(t term) bool { return t.text != "" })
}

// parts writes the terms: all numbers as one, then the middle, then the named
// ones.
func parts(ts []term, middle string) []string {
	n, out := 1.0, []string{}
	for _, t := range ts {
		if t.text == "" {
			n *= t.value
		}
	}
	if n != 1 {
		out = append(out, plain(n))
	}
	if middle != "" {
		out = append(out, middle)
	}
	for _, t := range ts {
		if t.text != "" {
			out = append(out, t.text)
		}
	}
	return out
}
