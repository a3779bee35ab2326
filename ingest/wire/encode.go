package wire

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math/bits"
	"slices"
	"strconv"

	"tautlog/analysis/trace"
)

// Frame is one packed frame as an instrument sends it.
type Frame struct {
	Seq      uint16  // one more with each frame, wraps
	Tick     uint32  // µs at the first reading, wraps
	Interval uint16  // µs from one reading to the next
	Readings []int32 // at most 255
}

// AppendFrame appends the bytes of a frame with its terminator. More than 255
// readings are a programmer's mistake and panic.
func AppendFrame(dst []byte, f Frame) []byte {
	if len(f.Readings) > maxCount {
		panic("wire: more than 255 readings in a frame")
	}
	var b [maxFrame]byte
	b[0] = frameVersion
	binary.LittleEndian.PutUint16(b[1:], f.Seq)
	binary.LittleEndian.PutUint32(b[3:], f.Tick)
	binary.LittleEndian.PutUint16(b[7:], f.Interval)
	b[9] = byte(len(f.Readings))
	n := headSize
	for _, r := range f.Readings {
		binary.LittleEndian.PutUint32(b[n:], uint32(r))
		n += 4
	}
	binary.LittleEndian.PutUint16(b[n:], crc16(b[:n]))
	return append(stuff(dst, b[:n+crcSize]), 0)
}

// AppendLine appends a line of text that c reads as r, ended by CR and LF.
// seq goes into the sequence column, if there is one, wrapped by SeqWrap. An Invalid reading is written as
// the first of the words for its marks in place of the number; an Overload
// alone as a word in a field that c leaves free, or where there is none in
// place of the number; Lost is expressed by seq alone.
func AppendLine(dst []byte, c TextConfig, r Reading, seq int64) []byte {
	from := len(dst)
	separator := c.separator()
	w := markWord(c, r.Mark)
	n := max(c.columns(), c.Fields, len(c.Cuts)+1)
	spare := w != "" && r.Mark&trace.Invalid == 0 && n > c.used()
	told := false
	for col := 1; col <= n; col++ {
		if col > 1 {
			dst = c.place(dst, from, col, separator)
		}
		switch {
		case col == c.Column && w != "" && !spare:
			dst = append(dst, w...)
		case col == c.Column:
			dst = c.appendReading(dst, r.Raw)
		case col == c.TickColumn:
			dst = appendTick(dst, r.Tick, c)
		case col == c.SeqColumn:
			dst = strconv.AppendInt(dst, wrapped(seq, c.SeqWrap), 10)
		case col == c.SignColumn:
			dst = append(dst, signOf(r.Raw))
		case spare && !told:
			dst = append(dst, w...)
			told = true
		case col == c.StatusColumn:
			dst = append(dst, c.Status[0]...)
		default:
			dst = append(dst, '*')
		}
	}
	dst = append(dst, '\r', '\n')
	c.Parity.add(dst[from:])
	return dst
}

// separator is a character that parts fields and nothing else.
func (c TextConfig) separator() byte {
	if c.DecimalComma || c.Thousands == "," {
		return ';'
	}
	return ','
}

// place goes to where the next field begins. A field that is too long for its
// place is a programmer's mistake and makes a line that is refused.
func (c TextConfig) place(dst []byte, from, col int, separator byte) []byte {
	if c.Cuts == nil {
		return append(dst, separator)
	}
	for len(dst)-from < c.Cuts[col-2] {
		dst = append(dst, ' ')
	}
	return dst
}

func signOf(raw int64) byte {
	if raw < 0 {
		return '-'
	}
	return '+'
}

// appendReading writes the reading as c has it, with its unit.
func (c TextConfig) appendReading(dst []byte, raw int64) []byte {
	apart := c.SignBehind || c.SignColumn > 0
	if apart && raw < 0 {
		dst = c.appendDigits(dst, -raw)
	} else {
		dst = c.appendDigits(dst, raw)
	}
	if c.SignBehind && raw < 0 {
		dst = append(dst, '-')
	}
	if c.Unit != Counts {
		dst = append(dst, c.Unit...)
	}
	return dst
}

func (c TextConfig) appendDigits(dst []byte, raw int64) []byte {
	point := decimalSign(c.DecimalComma)
	if c.Exponent {
		return fmt.Appendf(appendFixed(dst, raw, 1, point), "E%+03d", 1-c.Decimals)
	}
	from := len(dst)
	dst = appendFixed(dst, raw, c.Decimals, point)
	if c.Thousands == "" {
		return dst
	}
	end := bytes.IndexByte(dst[from:], point)
	if end < 0 {
		end = len(dst) - from
	}
	for at := from + end - 3; at > from && dst[at-1] != '-'; at -= 3 {
		dst = slices.Insert(dst, at, c.Thousands[0])
	}
	return dst
}

// add puts the parity into the eighth bit.
func (k Parity) add(p []byte) {
	for i, b := range p {
		if odd := bits.OnesCount8(b)%2 == 1; k == EvenParity && odd || k == OddParity && !odd {
			p[i] |= 0x80
		}
	}
}

// used is the number of columns that mean something.
func (c TextConfig) used() (n int) {
	for _, used := range []bool{true, c.TickColumn > 0, c.SeqColumn > 0 && c.SeqColumn != c.TickColumn, c.SignColumn > 0} {
		if used {
			n++
		}
	}
	return n
}

// markWord is the word for an overload or an invalid reading, empty where
// none is needed or configured.
func markWord(c TextConfig, m trace.Mark) string {
	switch {
	case m&trace.Overload != 0 && len(c.Overload) > 0:
		return c.Overload[0]
	case m&trace.Invalid != 0 && len(c.Invalid) > 0:
		return c.Invalid[0]
	}
	return ""
}

func wrapped(seq, wrap int64) int64 {
	if wrap > 0 {
		return seq % wrap
	}
	return seq
}

// appendTick writes the tick in steps of TickScale.
func appendTick(dst []byte, tick uint32, c TextConfig) []byte {
	if c.TickScale == 0 {
		return strconv.AppendUint(dst, uint64(tick), 10)
	}
	from := len(dst)
	dst = strconv.AppendFloat(dst, float64(tick)/c.TickScale, 'f', -1, 64)
	if i := bytes.IndexByte(dst[from:], '.'); i >= 0 {
		dst[from+i] = decimalSign(c.DecimalComma)
	}
	return dst
}

// appendFixed writes v / 10^decimals with all its decimals.
func appendFixed(dst []byte, v int64, decimals int, point byte) []byte {
	var b [24]byte
	s := strconv.AppendInt(b[:0], v, 10)
	if s[0] == '-' {
		dst, s = append(dst, '-'), s[1:]
	}
	if decimals == 0 {
		return append(dst, s...)
	}
	for zeros := decimals + 1 - len(s); zeros > 0; zeros-- {
		dst = append(dst, '0')
		if zeros == decimals+1-len(s) {
			dst = append(dst, point)
		}
	}
	if whole := len(s) - decimals; whole > 0 {
		dst = append(append(dst, s[:whole]...), point)
		s = s[whole:]
	}
	return append(dst, s...)
}
