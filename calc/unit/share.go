package unit

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// ParseShare reads a share such as "7%". A bare number is refused: 0.07 and 7
// are both written for it.
func ParseShare(s string) (float64, error) {
	number, ok := strings.CutSuffix(strings.TrimSpace(s), "%")
	v, err := strconv.ParseFloat(strings.TrimSpace(number), 64)
	switch {
	case err != nil || math.IsNaN(v) || math.IsInf(v, 0):
		return 0, fmt.Errorf("%q is not a share: write a plain decimal number and %%, as 7%%", s)
	case !ok:
		return 0, fmt.Errorf("%q is not a share: a bare number is refused, add %% (for example 7%%)", s)
	}
	return v / 100, nil
}

// ParseGrade reads a slope such as "10deg" or "18%", the rise over the level
// distance.
func ParseGrade(s string) (Angle, error) {
	if strings.HasSuffix(strings.TrimSpace(s), "%") {
		v, err := ParseShare(s)
		return Angle(math.Atan(v)), err
	}
	a, err := ParseAngle(s)
	if errors.Is(err, ErrNoUnit) {
		return 0, fmt.Errorf("%w; or %% for the rise over the level distance", err)
	}
	return a, err
}
