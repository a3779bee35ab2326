package gear

import (
	"time"

	"tautlog/calc/words"
)

// Date is a day, or a month or year where no more is known: "2026-03-14",
// "2026-03", "2026". Empty: not known. No date is "today" by itself: whoever
// asks says which day it is.
type Date string

// UnmarshalText reads a date and refuses what is none.
func (d *Date) UnmarshalText(b []byte) error {
	v := Date(b)
	if _, _, ok := v.span(); v != "" && !ok {
		return words.Error("item.date", v)
	}
	*d = v
	return nil
}

// Words says the date as people do: "14 March 2026".
func (d Date) Words() string { return words.DateOf(string(d)) }

// Known says whether the date can be counted with.
func (d Date) Known() bool { _, _, ok := d.span(); return ok }

// span is the first and the last day that the date may be.
func (d Date) span() (first, last time.Time, ok bool) {
	for _, f := range []struct {
		layout       string
		years, month int
	}{{"2006-01-02", 0, 0}, {"2006-01", 0, 1}, {"2006", 1, 0}} {
		t, err := time.Parse(f.layout, string(d))
		if err != nil {
			continue
		}
		if f.years+f.month == 0 {
			return t, t, true
		}
		return t, t.AddDate(f.years, f.month, -1), true
	}
	return first, last, false
}

// before says that the date lies before another for certain: its last day
// before the other's first. It is false where one of them is not known.
func (d Date) before(e Date) bool {
	_, last, ok := d.span()
	first, _, too := e.span()
	return ok && too && last.Before(first)
}

// plusMonths is the day so many months after the first day that the date may
// be: where only the year is known, the earliest.
func (d Date) plusMonths(n int) Date {
	first, _, ok := d.span()
	if !ok {
		return ""
	}
	return Date(first.AddDate(0, n, 0).Format("2006-01-02"))
}

// years is how many years, at least and at most, lie between the date and
// today.
func (d Date) years(today Date) (least, most float64, ok bool) {
	first, last, ok := d.span()
	now, _, too := today.span()
	const day, year = 24, 365.2425
	return now.Sub(last).Hours() / day / year, now.Sub(first).Hours() / day / year, ok && too
}
