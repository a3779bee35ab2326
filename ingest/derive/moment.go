package derive

import (
	"strconv"
	"strings"
	"time"

	"tautlog/calc/words"
)

// MomentShown is how a moment beside a pull is written: local time with
// milliseconds.
const MomentShown = "15:04:05.000"

// Moment reads a moment beside another one, as people write it: as a local time
// of that day or, over midnight, of the one next to it ("10:00:04.250"), as
// seconds from the other moment ("1.25 s", "-0.3s"), or as a whole time stamp
// (RFC 3339). The zone is that of near.
func Moment(text string, near time.Time) (time.Time, error) {
	text = strings.TrimSpace(text)
	if number, ok := strings.CutSuffix(text, "s"); ok {
		s, err := strconv.ParseFloat(strings.TrimSpace(number), 64)
		if err == nil && s > -86400 && s < 86400 {
			return near.Add(time.Duration(s * 1e9)), nil
		}
	}
	if t, err := time.Parse(time.RFC3339, text); err == nil {
		return t, nil
	}
	t, err := time.Parse("15:04:05", text)
	if err != nil {
		return t, words.Error("derived.moment", text, near.Format(MomentShown))
	}
	y, m, d := near.Date()
	at := func(days int) time.Time {
		return time.Date(y, m, d+days, t.Hour(), t.Minute(), t.Second(), t.Nanosecond(), near.Location())
	}
	best := at(0)
	for _, days := range []int{-1, 1} {
		if other := at(days); other.Sub(near).Abs() < best.Sub(near).Abs() {
			best = other
		}
	}
	return best, nil
}
