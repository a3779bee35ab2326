package wire

import "bytes"

// maxMantissa keeps ten times a mantissa and a digit inside an int64.
const maxMantissa = 1e17

// number is a plain decimal number: mantissa / 10^decimals.
type number struct {
	mantissa int64
	decimals int
	tail     []byte // what follows it in its field
}

// scan reads the number at the start of a field: a sign, blanks behind it,
// digits, at most one decimal sign. There is no exponent and no grouping.
func scan(f []byte, point byte) (v number, ok bool) {
	i, negative := 0, false
	if i < len(f) && (f[i] == '+' || f[i] == '-') {
		negative = f[i] == '-'
		for i++; i < len(f) && (f[i] <= ' ' || f[i] == 0x7f); i++ {
		}
	}
	first, behind := i, false
	for ; i < len(f); i++ {
		c := f[i] - '0'
		if c > 9 {
			if f[i] != point || behind {
				break
			}
			behind = true
			first++
			continue
		}
		if v.mantissa > maxMantissa {
			return number{}, false
		}
		v.mantissa = v.mantissa*10 + int64(c)
		if behind {
			v.decimals++
		}
	}
	if i <= first { // no digit
		return number{}, false
	}
	if negative {
		v.mantissa = -v.mantissa
	}
	v.tail = f[i:]
	return v, true
}

// in gives the number in steps of 10^-decimals, if it has no more digits than
// that and is not too large.
func (v number) in(decimals int) (int64, bool) {
	if v.decimals > decimals {
		return 0, false
	}
	m := v.mantissa
	for range decimals - v.decimals {
		if m > maxMantissa || m < -maxMantissa {
			return 0, false
		}
		m *= 10
	}
	return m, true
}

// value is the number as a float.
func (v number) value() float64 {
	x := float64(v.mantissa)
	for range v.decimals {
		x /= 10
	}
	return x
}

// whole reads a field that is a number from 0 on without decimals and nothing
// else.
func whole(f []byte, point byte) (int64, bool) {
	v, ok := scan(f, point)
	return v.mantissa, ok && v.decimals == 0 && len(v.tail) == 0 && v.mantissa >= 0
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
