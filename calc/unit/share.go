package unit

import (
	"errors"
	"math"
	"strconv"
	"strings"

	"tautlog/calc/words"
)

// ParseShare reads a share such as "7%". A bare number is refused: 0.07 and 7
// are both written for it.
func ParseShare(s string) (float64, error) {
	number, ok := strings.CutSuffix(strings.TrimSpace(s), "%")
	v, err := strconv.ParseFloat(strings.TrimSpace(number), 64)
	switch {
	case err != nil || math.IsNaN(v) || math.IsInf(v, 0):
		return 0, words.Error("unit.share.number", s)
	case !ok:
		return 0, words.Error("unit.share.bare", s)
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
		return 0, words.Error("unit.grade", err)
	}
	return a, err
}
