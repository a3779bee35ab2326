package calibrate

import (
	"strconv"
	"strings"

	"tautlog/calc/words"
)

// ParseCurve reads a curve as people write it: its coefficients "b0,b1[,…]" in
// newtons per power of the reading.
func ParseCurve(s string) (c Curve, err error) {
	for part := range strings.SplitSeq(s, ",") {
		b, err := strconv.ParseFloat(strings.TrimSpace(part), 64)
		if err != nil {
			return c, words.Error("calibrate.curve.number", s, part)
		}
		c.Coefficients = append(c.Coefficients, b)
	}
	return c, nil
}
