package wire

// hardSeparators part fields one by one: two in a row hold an empty field.
const hardSeparators = ",;:=|"

// class is what a byte means for the parting of a line.
type class uint8

const (
	other class = iota
	blank       // parts fields, a run of them once
	hard        // parts fields, each one
	sign
	digit // or a decimal sign
)

// classes gives every byte its class.
type classes [256]class

func classify(decimalComma bool) *classes {
	var t classes
	for c := range 0x21 {
		t[c] = blank
	}
	t[0x7f] = blank
	for _, c := range []byte(hardSeparators) {
		t[c] = hard
	}
	for c := '0'; c <= '9'; c++ {
		t[c] = digit
	}
	t['+'], t['-'] = sign, sign
	t[decimalSign(decimalComma)] = digit
	return &t
}

func decimalSign(comma bool) byte {
	if comma {
		return ','
	}
	return '.'
}

// span is a field: line[from:to].
type span struct{ from, to int }

// split parts a line into fields. It reports how many there are, which may be
// more than fit into dst.
func (t *classes) split(dst *[maxColumn]span, line []byte) (n int) {
	i, end := 0, len(line)
	for end > 0 && t[line[end-1]] == blank {
		end--
	}
	for {
		for i < end && t[line[i]] == blank {
			i++
		}
		if i == end && (n == 0 || t[line[i-1]] != hard) {
			return n
		}
		from := i
		i = t.fieldEnd(line[:end], i)
		if n < len(dst) {
			dst[n] = span{from, i}
		}
		n++
		for i < end && t[line[i]] == blank {
			i++
		}
		if i == end {
			return n
		}
		if t[line[i]] == hard {
			i++
		}
	}
}

// fieldEnd is the end of the field that begins at i: a lone sign takes in the
// blanks and the number behind it.
func (t *classes) fieldEnd(line []byte, i int) int {
	if i < len(line) && t[line[i]] == sign {
		j := i + 1
		for j < len(line) && t[line[j]] == blank {
			j++
		}
		if j < len(line) && t[line[j]] == digit {
			i = j
		}
	}
	for i < len(line) && t[line[i]] != blank && t[line[i]] != hard {
		i++
	}
	return i
}
