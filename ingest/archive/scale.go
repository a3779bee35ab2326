package archive

import (
	"encoding/json"
	"math"
	"slices"

	"tautlog/ingest/derive"
)

// scale is how the readings of a cell become newtons, over time: what the
// archive was given is by it.
type scale []scaleStep

// scaleStep holds from a moment until the next one.
type scaleStep struct {
	From         int64     `json:"from"` // ns UTC
	Coefficients []float64 `json:"coefficients"`
}

func scaleOf(c derive.Cell) (s scale) {
	for at := int64(math.MinInt64); ; {
		f := c.History.At(at)
		s = append(s, scaleStep{at, f.Curve.Coefficients})
		if f.Until == math.MaxInt64 {
			return s
		}
		at = f.Until
	}
}

// String is the scale as the store keeps it.
func (s scale) String() string {
	text, err := json.Marshal(s)
	if err != nil {
		panic("archive: " + err.Error()) // the coefficients of a curve are finite
	}
	return string(text)
}

// differsFrom is the first moment from which on newtons may be others than by
// the scale that the store kept.
func (s scale) differsFrom(kept string) int64 {
	var was scale
	if json.Unmarshal([]byte(kept), &was) != nil {
		return math.MinInt64
	}
	for i := range max(len(s), len(was)) {
		switch {
		case i >= len(s):
			return was[i].From
		case i >= len(was):
			return s[i].From
		case s[i].From != was[i].From:
			return min(s[i].From, was[i].From)
		case !slices.Equal(s[i].Coefficients, was[i].Coefficients):
			return s[i].From
		}
	}
	return math.MaxInt64
}
