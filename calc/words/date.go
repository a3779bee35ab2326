package words

import (
	"strconv"
	"time"
)

// Date says a day: "17 May 2026".
func Date(t time.Time) string {
	return Say("date.day", t.Day(), Say("date.month."+strconv.Itoa(int(t.Month()))), t.Year())
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
