package unit

import (
	"strings"
	"time"

	"tautlog/calc/words"
)

// momentLayouts are the ways in which people write a moment. Seconds may have
// decimals.
var momentLayouts = []string{time.RFC3339, "2006-01-02 15:04:05", "2006-01-02 15:04", "2006-01-02T15:04:05", "2006-01-02T15:04"}

// ParseMoment reads a moment such as "2026-05-17 09:30", in the time of a zone
// unless it says its own ("2026-05-17T09:30:00Z", RFC 3339). A date alone is
// refused.
func ParseMoment(s string, zone *time.Location) (time.Time, error) {
	if at, ok := momentIn(s, zone, momentLayouts); ok {
		return at, nil
	}
	return time.Time{}, words.Error("unit.moment", s)
}

// ParseMomentOrDay reads a moment as ParseMoment does, or a date such as
// "2026-05-17", which is its first moment in that zone.
func ParseMomentOrDay(s string, zone *time.Location) (time.Time, error) {
	if at, ok := momentIn(s, zone, append([]string{time.DateOnly}, momentLayouts...)); ok {
		return at, nil
	}
	return time.Time{}, words.Error("unit.moment.orday", s)
}

func momentIn(s string, zone *time.Location, layouts []string) (time.Time, bool) {
	for _, layout := range layouts {
		if at, err := time.ParseInLocation(layout, strings.TrimSpace(s), zone); err == nil {
			return at, true
		}
	}
	return time.Time{}, false
}
