package words

import (
	"strconv"
	"time"
)

// Date says a day: "17 May 2026".
func Date(t time.Time) string {
	return Say("date.day", t.Day(), Say("date.month."+strconv.Itoa(int(t.Month()))), t.Year())
}

// DateOf says a date that is kept as "2026-05-17", or as "2026-05" or "2026"
// where no more is known, or as a time of RFC 3339. What is none of these is
// given back as it is.
func DateOf(kept string) string {
	for _, layout := range []string{time.DateOnly, time.RFC3339} {
		if t, err := time.Parse(layout, kept); err == nil {
			return Date(t)
		}
	}
	if t, err := time.Parse("2006-01", kept); err == nil {
		return Say("date.month", Say("date.month."+strconv.Itoa(int(t.Month()))), t.Year())
	}
	return kept
}

// DateAt says a moment: a day, and the clock as the layout has it (see package
// time), without names in it: "17 May 2026, 09:30".
func DateAt(t time.Time, clock string) string {
	return Say("date.at", Date(t), t.Format(clock))
}

// Weekday says a day of the week and the day: "Sunday, 17 May 2026".
func Weekday(t time.Time) string {
	return Say("date.of", Say("date.weekday."+strconv.Itoa(int(t.Weekday()))), Date(t))
}
