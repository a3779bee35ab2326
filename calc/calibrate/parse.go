package calibrate

import (
	"fmt"
	"strconv"
	"strings"
)

// ParseCurve reads a curve as people write it: its coefficients "b0,b1[,…]" in
// newtons per power of the reading.
func ParseCurve(s string) (c Curve, err error) {
	for part := range strings.SplitSeq(s, ",") {
		b, err := strconv.ParseFloat(strings.TrimSpace(part), 64)
		if err != nil {
			return c, fmt.Errorf("curve %q: %q is not a number; write b0,b1 as in -3248,4", s, part)
		}
		c.Coefficients = append(c.Coefficients, b)
	}
	return c, nil
}
