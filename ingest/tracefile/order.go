package tracefile

import (
	"strconv"
	"strings"
	"time"
)

// outOfOrder is the fault of a time that is not later than the one before.
func outOfOrder(before, t int64, line int, dates bool) *Error {
	if t == before {
		return fault(ErrRepeated, line, "keep one reading for each time, or give more decimals of the time",
			"the time %s is there twice", showTime(t, dates))
	}
	return fault(ErrTimeBack, line, "put the lines in the order of time",
		"the time goes back from %s to %s", showTime(before, dates), showTime(t, dates))
}

// showTime prints a time as the file has it.
func showTime(t int64, dates bool) string {
	if dates {
		return time.Unix(0, t).UTC().Format(time.RFC3339Nano)
	}
	return string(appendSeconds(nil, t)) + " s"
}

// appendSeconds prints nanoseconds as seconds, exactly and without needless
// zeros.
func appendSeconds(b []byte, t int64) []byte {
	u := uint64(t)
	if t < 0 {
		b = append(b, '-')
		u = -u
	}
	b = strconv.AppendUint(b, u/1e9, 10)
	rest := strconv.FormatUint(u%1e9+1e9, 10)[1:]
	if rest = strings.TrimRight(rest, "0"); rest != "" {
		b = append(append(b, '.'), rest...)
	}
	return b
}

func itoa(n int) string { return strconv.Itoa(n) }
