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

// parting is how a line is parted into fields.
type parting struct {
	class  [256]class
	behind bool  // a sign stands behind its digits
	cuts   []int // where fields begin; nil: they are parted by characters
}

func newParting(c TextConfig) *parting {
	t := &parting{behind: c.SignBehind, cuts: c.Cuts}
	for b := range 0x21 {
		t.class[b] = blank
	}
	t.class[0x7f] = blank
	for _, b := range []byte(hardSeparators) {
		t.class[b] = hard
	}
	for b := '0'; b <= '9'; b++ {
		t.class[b] = digit
	}
	t.class['+'], t.class['-'] = sign, sign
	t.class[decimalSign(c.DecimalComma)] = digit
	if c.Thousands != "" {
		t.class[c.Thousands[0]] = digit
	}
	return t
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
// more than fit into dst, and 0 for a line of blanks.
func (t *parting) split(dst *[maxColumn]span, line []byte) (n int) {
	if t.cuts != nil {
		return t.cut(dst, line)
	}
	i, end := 0, len(line)
	for end > 0 && t.class[line[end-1]] == blank {
		end--
	}
	for {
		for i < end && t.class[line[i]] == blank {
			i++
		}
		if i == end && (n == 0 || t.class[line[i-1]] != hard) {
			return n
		}
		from := i
		i = t.fieldEnd(line[:end], i)
		if n < len(dst) {
			dst[n] = span{from, i}
		}
		n++
		for i < end && t.class[line[i]] == blank {
			i++
		}
		if i == end {
			return n
		}
		if t.class[line[i]] == hard {
			i++
		}
	}
}

// fieldEnd is the end of the field that begins at i: a lone sign takes in the
// blanks and the number behind it, or before it where that is its place.
func (t *parting) fieldEnd(line []byte, i int) int {
	if i < len(line) && t.class[line[i]] == sign && !t.behind {
		if j := t.pastBlanks(line, i+1); j < len(line) && t.class[line[j]] == digit {
			i = j
		}
	}
	from := i
	for i < len(line) && t.class[line[i]] != blank && t.class[line[i]] != hard {
		i++
	}
	if t.behind && i > from && t.class[line[i-1]] == digit {
		j := t.pastBlanks(line, i)
		if j < len(line) && t.class[line[j]] == sign && (j+1 == len(line) || t.class[line[j+1]] == blank || t.class[line[j+1]] == hard) {
			i = j + 1
		}
	}
	return i
}

func (t *parting) pastBlanks(line []byte, i int) int {
	for i < len(line) && t.class[line[i]] == blank {
		i++
	}
	return i
}

// cut parts a line at fixed places. Fields that it does not reach are not
// counted.
func (t *parting) cut(dst *[maxColumn]span, line []byte) (n int) {
	start := 0
	for start < len(line) && line[start] < ' ' && line[start] != '\t' {
		start++
	}
	if t.pastBlanks(line, start) == len(line) {
		return 0
	}
	for from := start; ; {
		to, last := len(line), n == len(t.cuts)
		if !last {
			to = min(to, start+t.cuts[n])
		}
		dst[n] = t.trim(line, span{from, to})
		n++
		if last || start+t.cuts[n-1] >= len(line) {
			return n
		}
		from = to
	}
}

// trim takes the blanks off both ends of a field.
func (t *parting) trim(line []byte, s span) span {
	for s.to > s.from && t.class[line[s.to-1]] == blank {
		s.to--
	}
	for s.from < s.to && t.class[line[s.from]] == blank {
		s.from++
	}
	return s
}
