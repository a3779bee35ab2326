package wire

import (
	"bytes"
	"math"
)

// maxMantissa keeps ten times a mantissa and a digit inside an int64.
const maxMantissa = 1e17

// number is a decimal number: mantissa / 10^decimals, where decimals may be
// below zero.
type number struct {
	mantissa int64
	decimals int
	signed   bool   // a sign is written
	rounds   bool   // it has an exponent: digits beyond those wanted are rounded off
	tail     []byte // what follows it in its field
}

// notation is how an instrument writes numbers.
type notation struct {
	point    byte
	group    byte // parts groups of three digits; 0 none
	behind   bool // the sign stands behind the digits
	exponent bool // there may be one
}

func (c TextConfig) notation() notation {
	n := notation{point: decimalSign(c.DecimalComma), behind: c.SignBehind, exponent: c.Exponent}
	if c.Thousands != "" {
		n.group = c.Thousands[0]
	}
	return n
}

func isBlank(c byte) bool { return c <= ' ' || c == 0x7f }

// scan reads the number at the start of a field: a sign, blanks behind it,
// digits, at most one decimal sign; and what else the notation allows.
func (t notation) scan(f []byte) (v number, ok bool) {
	negative := false
	if !t.behind && len(f) > 0 && (f[0] == '+' || f[0] == '-') {
		negative, v.signed = f[0] == '-', true
		f = trimLeft(f[1:])
	}
	if f, ok = t.digits(&v, f); !ok {
		return number{}, false
	}
	if t.exponent {
		f = v.power(f)
	}
	if t.behind {
		if rest := trimLeft(f); len(rest) > 0 && (rest[0] == '+' || rest[0] == '-') {
			negative, v.signed = rest[0] == '-', true
			f = rest[1:]
		}
	}
	if negative {
		v.mantissa = -v.mantissa
	}
	v.tail = trimLeft(f)
	return v, true
}

func trimLeft(f []byte) []byte {
	for len(f) > 0 && isBlank(f[0]) {
		f = f[1:]
	}
	return f
}

// digits reads digits and their decimal sign, and gives what follows. Groups
// must be of three digits, all but the first.
func (t notation) digits(v *number, f []byte) (rest []byte, ok bool) {
	i, any, behind, grouped, run := 0, false, false, false, 0
	for ; i < len(f); i++ {
		c := f[i] - '0'
		switch {
		case c <= 9:
			if v.mantissa > maxMantissa {
				return nil, false
			}
			v.mantissa = v.mantissa*10 + int64(c)
			any = true
			run++
			if behind {
				v.decimals++
			}
			continue
		case f[i] == t.point && !behind:
			if grouped && run != 3 {
				return nil, false
			}
			behind = true
			continue
		case t.group != 0 && f[i] == t.group:
			if behind || !any || run > 3 || grouped && run != 3 {
				return nil, false
			}
			grouped, run = true, 0
			continue
		}
		break
	}
	return f[i:], any && (!grouped || behind || run == 3)
}

// power reads an exponent, if one is there, and gives what follows.
func (v *number) power(f []byte) []byte {
	if len(f) < 2 || f[0] != 'e' && f[0] != 'E' {
		return f
	}
	i, negative := 1, f[1] == '-'
	if f[1] == '+' || f[1] == '-' {
		i++
	}
	from, exponent := i, 0
	for ; i < len(f) && f[i]-'0' <= 9; i++ {
		exponent = min(exponent*10+int(f[i]-'0'), 1000)
	}
	if i == from {
		return f
	}
	if negative {
		exponent = -exponent
	}
	v.decimals -= exponent
	v.rounds = true
	return f[i:]
}

// in gives the number in steps of 10^-decimals, if it has no more digits than
// that and is not too large.
func (v number) in(decimals int) (int64, bool) {
	m := v.mantissa
	if v.decimals > decimals {
		if !v.rounds {
			return 0, false
		}
		return roundOff(m, v.decimals-decimals), true
	}
	for n := decimals - v.decimals; n > 0 && m != 0; n-- {
		if m > maxMantissa || m < -maxMantissa {
			return 0, false
		}
		m *= 10
	}
	return m, true
}

// roundOff takes n digits off a number, halves away from zero.
func roundOff(m int64, n int) int64 {
	for ; n > 1 && m != 0; n-- {
		m /= 10
	}
	switch r := m % 10; {
	case r >= 5:
		return m/10 + 1
	case r <= -5:
		return m/10 - 1
	}
	return m / 10
}

// value is the number as a float.
func (v number) value() float64 { return float64(v.mantissa) / math.Pow10(v.decimals) }

// whole reads a field that is a number from 0 on without decimals and nothing
// else.
func (t notation) whole(f []byte) (int64, bool) {
	v, ok := t.scan(f)
	return v.mantissa, ok && !v.rounds && v.decimals == 0 && len(v.tail) == 0 && v.mantissa >= 0
}

// spelling is a way in which instruments write a unit.
type spelling struct {
	text string
	unit string // the unit of Config that it means, empty for one that only Counts can stand for
}

// spellings lists the units that are looked for in a line. Instruments write
// masses where they mean the weight of that mass.
func spellings() []spelling {
	return []spelling{
		{"kn", "kN"}, {"n", "N"}, {"kgf", "kgf"}, {"kg", "kgf"}, {"t", "t"}, {"tf", "t"},
		{"lbf", "lbf"}, {"lb", "lbf"}, {"lbs", "lbf"},
		{"dan", ""}, {"mn", ""}, {"klb", ""}, {"klbf", ""}, {"mv/v", ""}, {"mv", ""}, {"uv", ""},
		{"oz", ""}, {"ozf", ""}, {"ton", ""}, {"pcs", ""}, {"%", ""}, {"bar", ""}, {"psi", ""}, {"mpa", ""},
		{"counts", Counts}, {"count", Counts}, {"cts", Counts}, {"cnt", Counts},
	}
}

// unitNames are the spellings with an eye on one configured unit.
type unitNames struct {
	right, wrong [][]byte
}

func namesFor(configured string) (n unitNames) {
	for _, s := range spellings() {
		if s.unit == configured || configured == Counts && s.unit == "" {
			n.right = append(n.right, []byte(s.text))
		} else {
			n.wrong = append(n.wrong, []byte(s.text))
		}
	}
	return n
}

// holds reports whether a word is one of a list, whatever the case.
func holds(list [][]byte, word []byte) bool {
	for _, w := range list {
		if len(w) == len(word) && bytes.EqualFold(w, word) {
			return true
		}
	}
	return false
}
