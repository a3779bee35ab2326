package tracefile

import (
	"bytes"
	"errors"
	"math"
	"math/bits"
	"strconv"
	"unsafe"
)

// Powers of ten that are exact: as float64 up to 10²², as uint64 up to 10¹⁹.
var (
	tens = [...]float64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12,
		1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}
	wholeTens = [...]uint64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12,
		1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19}
)

// mostDigits fit an uint64 whatever they are.
const mostDigits = 19

// digits is a number as it stands: its digits as one whole number, and by how
// many places they stand behind the decimal mark, an exponent taken in.
type digits struct {
	whole    uint64
	count    int
	behind   int
	negative bool
}

// scan reads a plain decimal number at b[i:] and gives the place behind it. It
// wants b to end in a byte that belongs to no number, a newline. A count of
// zero or of more than mostDigits is not usable.
func scan(b []byte, i int, mark byte) (digits, int) {
	var d digits
	if b[i] == '-' {
		d.negative = true
		i++
	}
	start := i
	for b[i]-'0' <= 9 {
		d.whole = d.whole*10 + uint64(b[i]-'0')
		i++
	}
	d.count = i - start
	if b[i] == mark {
		i++
		start = i
		for b[i]-'0' <= 9 {
			d.whole = d.whole*10 + uint64(b[i]-'0')
			i++
		}
		d.behind = i - start
		d.count += d.behind
	}
	if b[i]|0x20 == 'e' {
		return d.scanExponent(b, i+1)
	}
	return d, i
}

// scanExponent goes on behind the e. An exponent of no digits or of more than
// three makes the number unusable.
func (d digits) scanExponent(b []byte, i int) (digits, int) {
	sign := 1
	switch b[i] {
	case '-':
		sign = -1
		i++
	case '+':
		i++
	}
	start, exponent := i, 0
	for b[i]-'0' <= 9 && i-start < 4 {
		exponent = exponent*10 + int(b[i]-'0')
		i++
	}
	if n := i - start; n == 0 || n > 3 {
		d.count = 0
	}
	d.behind -= sign * exponent
	return d, i
}

func (d digits) usable() bool { return d.count > 0 && d.count <= mostDigits }

// value is the float64 nearest to the number, ties to even. It is false where
// only the slow way can tell.
//
// Up to 2⁵³ both the digits and the power of ten are exact, so that one
// division or multiplication rounds once (Clinger, "How to read floating point
// numbers accurately", PLDI 1990). Above that the quotient is taken in whole
// numbers.
func (d digits) value() (v float64, ok bool) {
	small := d.whole < 1<<53
	switch {
	case !d.usable():
		return 0, false
	case small && 0 <= d.behind && d.behind < len(tens):
		v = float64(d.whole) / tens[d.behind]
	case small && d.behind < 0 && -d.behind < len(tens):
		v = float64(d.whole) * tens[-d.behind]
	case d.behind == 0:
		v = float64(d.whole)
	case !small && 0 < d.behind && d.behind < len(wholeTens):
		v = quotient(d.whole, d.behind)
	default:
		return 0, false
	}
	if d.negative {
		v = -v
	}
	return v, true
}

// quotient is n / 10^k rounded once, for n > 0 and k up to 19: both are
// shifted to 64 bits, divided to 63 or more bits, and what remains is kept as
// a last bit that can only break a tie.
func quotient(n uint64, k int) float64 {
	d := wholeTens[k]
	shiftN, shiftD := bits.LeadingZeros64(n), bits.LeadingZeros64(d)
	n, d = n<<shiftN, d<<shiftD
	q, rest := bits.Div64(n>>1, n<<63, d)
	if rest != 0 {
		q |= 1
	}
	return float64(q) * math.Float64frombits(uint64(1023-63+shiftD-shiftN)<<52)
}

// nanoseconds reads the number as seconds. It is false where int64 cannot
// hold the result, or only the slow way can tell.
func (d digits) nanoseconds() (int64, bool) {
	var n uint64
	switch more := 9 - d.behind; {
	case !d.usable():
		return 0, false
	case 0 <= more && more < len(wholeTens):
		high, low := bits.Mul64(d.whole, wholeTens[more])
		if high != 0 {
			return 0, false
		}
		n = low
	case more < 0 && -more < len(wholeTens):
		n = rounded(d.whole, wholeTens[-more])
	default:
		return 0, false
	}
	if n > math.MaxInt64 {
		return 0, false
	}
	if d.negative {
		return -int64(n), true
	}
	return int64(n), true
}

// rounded is n / d to the nearest whole number, halves up.
func rounded(n, d uint64) uint64 {
	q, rest := n/d, n%d
	if rest >= d-rest {
		q++
	}
	return q
}

// anyDecimal reads the whole of b, a number with or without exponent, signed
// or not. It is the slow way, taken where scan does not suffice.
func anyDecimal(b []byte, mark byte) (float64, error) {
	if !isDecimal(b, mark) {
		if isNotFinite(b) {
			return 0, ErrNotFinite
		}
		return 0, ErrNumber
	}
	v, err := parseFloat(b, mark)
	if errors.Is(err, strconv.ErrRange) {
		return 0, ErrNotFinite
	}
	return v, err
}

// parseFloat hands b to strconv without copying it: it is called for every
// line of a file that writes exponents. The decimal comma is put back.
func parseFloat(b []byte, mark byte) (float64, error) {
	at := bytes.IndexByte(b, mark)
	if at >= 0 {
		b[at] = '.'
	}
	v, err := strconv.ParseFloat(unsafe.String(unsafe.SliceData(b), len(b)), 64)
	if at >= 0 {
		b[at] = mark
	}
	return v, err
}

// isDecimal tells whether b is [+-]digits[mark digits][e[+-]digits] with at
// least one digit before the exponent.
func isDecimal(b []byte, mark byte) bool {
	b = unsigned(b)
	n, b := leadingDigits(b)
	if len(b) > 0 && b[0] == mark {
		var m int
		m, b = leadingDigits(b[1:])
		n += m
	}
	if n == 0 {
		return false
	}
	if len(b) > 0 && (b[0] == 'e' || b[0] == 'E') {
		n, b = leadingDigits(unsigned(b[1:]))
	}
	return n > 0 && len(b) == 0
}

func unsigned(b []byte) []byte {
	if len(b) > 0 && (b[0] == '+' || b[0] == '-') {
		return b[1:]
	}
	return b
}

func leadingDigits(b []byte) (int, []byte) {
	n := 0
	for n < len(b) && b[n]-'0' <= 9 {
		n++
	}
	return n, b[n:]
}

// isNotFinite knows what programs write in place of a number.
func isNotFinite(b []byte) bool {
	switch string(lower(unsigned(b))) {
	case "nan", "inf", "infinity", "nan(ind)", "1.#inf", "1.#qnan", "1.#ind", "∞":
		return true
	}
	return false
}

func lower(b []byte) []byte {
	out := make([]byte, len(b))
	for i, c := range b {
		if 'A' <= c && c <= 'Z' {
			c += 'a' - 'A'
		}
		out[i] = c
	}
	return out
}
