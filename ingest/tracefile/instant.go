package tracefile

import (
	"math"
	"strconv"
	"time"
)

// anySeconds reads the whole of b, a number of seconds with or without
// exponent, to the nearest nanosecond, halves away from zero. It works on the
// digits, since a float64 of seconds since 1970 is 200 ns coarse.
func anySeconds(b []byte, mark byte) (int64, error) {
	if !isDecimal(b, mark) {
		if isNotFinite(b) {
			return 0, ErrNotFinite
		}
		return 0, ErrNumber
	}
	m, power := significant(unsigned(b), mark)
	n, ok := m.whole(power + 9)
	if !ok {
		return 0, ErrTime
	}
	if b[0] == '-' {
		n = -n
	}
	return n, nil
}

// mantissa holds the leading digits of a number, as many as can matter: one
// more than fit an int64, to round by.
type mantissa struct {
	digit [mostDigits + 1]byte
	n     int
}

// significant gives the digits of a number without leading zeros, and the
// power of ten by which 0.digits is to be multiplied.
func significant(b []byte, mark byte) (m mantissa, power int) {
	started, behind := false, false
	for i, c := range b {
		switch {
		case c == mark:
			behind = true
			continue
		case c == 'e' || c == 'E':
			return m, power + clampedInt(b[i+1:])
		case c != '0':
			started = true
		}
		if started && m.n < len(m.digit) {
			m.digit[m.n] = c - '0'
			m.n++
		}
		if started && !behind {
			power++
		} else if !started && behind {
			power--
		}
	}
	return m, power
}

// clampedInt reads an exponent. Beyond ±10⁹ it makes no difference how large
// it is.
func clampedInt(b []byte) int {
	n, err := strconv.Atoi(string(b))
	if err != nil && b[0] == '-' {
		return -1e9
	}
	if err != nil {
		return 1e9
	}
	return min(max(n, -1e9), 1e9)
}

// whole is 0.digits times 10^power, rounded, halves up.
func (m mantissa) whole(power int) (int64, bool) {
	if m.n == 0 || power < 0 {
		return 0, true
	}
	if power > mostDigits {
		return 0, false
	}
	var n uint64
	for _, d := range m.digit[:power] {
		n = n*10 + uint64(d)
	}
	if m.digit[power] >= 5 {
		n++
	}
	return int64(n), n <= math.MaxInt64
}

// looksLikeDate tells RFC 3339 from seconds.
func looksLikeDate(b []byte) bool { return len(b) >= 10 && b[4] == '-' && b[7] == '-' }

// fastInstant reads "2006-01-02T15:04:05.999999999Z" at b[i:], in UTC only,
// and gives the place behind it, or -1 where the slow way must look.
func fastInstant(b []byte, i int) (int64, int) {
	if len(b)-i < len("2006-01-02T15:04:05Z\n") {
		return 0, -1
	}
	c := b[i : i+20 : i+20]
	if c[4] != '-' || c[7] != '-' || c[10] != 'T' || c[13] != ':' || c[16] != ':' {
		return 0, -1
	}
	bad := false
	two := func(at int) int {
		high, low := c[at]-'0', c[at+1]-'0'
		bad = bad || high > 9 || low > 9
		return int(high)*10 + int(low)
	}
	year, month, day := two(0)*100+two(2), two(5), two(8)
	hour, minute, second := two(11), two(14), two(17)
	if bad || year < 1678 || year > 2261 || month < 1 || month > 12 || day < 1 || day > daysIn(year, month) || hour > 23 || minute > 59 || second > 59 {
		return 0, -1
	}
	n := (daysSince1970(year, month, day)*86400 + int64(hour*3600+minute*60+second)) * 1e9
	i += 19
	if b[i] == '.' {
		d, next := scan(b, i, '.')
		if d.behind == 0 || d.behind > 9 || d.count != d.behind {
			return 0, -1
		}
		n += int64(d.whole * wholeTens[9-d.behind])
		i = next
	}
	if b[i] != 'Z' {
		return 0, -1
	}
	return n, i + 1
}

// daysIn is the length of a month.
func daysIn(year, month int) int {
	if month != 2 {
		return 30 + (month+month/8)%2
	}
	if year%4 == 0 && (year%100 != 0 || year%400 == 0) {
		return 29
	}
	return 28
}

// daysSince1970 counts days in the Gregorian calendar, with years that begin
// in March so that the leap day comes last.
func daysSince1970(year, month, day int) int64 {
	if month <= 2 {
		year--
		month += 12
	}
	days := 365*year + year/4 - year/100 + year/400 + (153*(month-3)+2)/5 + day - 1
	return int64(days - 719468)
}

// anyInstant reads the whole of b as RFC 3339, with any offset, with a blank
// or a small letter where RFC 3339 lets one stand.
func anyInstant(b []byte) (int64, error) {
	text := []byte(string(b))
	if len(text) > 10 && (text[10] == ' ' || text[10] == 't') {
		text[10] = 'T'
	}
	if n := len(text); n > 0 && text[n-1] == 'z' {
		text[n-1] = 'Z'
	}
	at, err := time.Parse(time.RFC3339, string(text))
	if err != nil {
		return 0, ErrTime
	}
	if y := at.UTC().Year(); y < 1678 || y > 2261 {
		return 0, ErrTime
	}
	return at.UnixNano(), nil
}
