package wire

import (
	"bytes"
	"encoding/binary"
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
	separator := byte(',')
	if c.DecimalComma {
		separator = ';'
	}
	w := markWord(c, r.Mark)
	n := max(c.columns(), c.Fields)
	spare := w != "" && r.Mark&trace.Invalid == 0 && n > c.used()
	for col := 1; col <= n; col++ {
		if col > 1 {
			dst = append(dst, separator)
		}
		switch {
		case col == c.Column && w != "" && !spare:
			dst = append(dst, w...)
		case col == c.Column:
			dst = appendFixed(dst, r.Raw, c.Decimals, decimalSign(c.DecimalComma))
			if c.Unit != Counts {
				dst = append(dst, c.Unit...)
			}
		case col == c.TickColumn:
			dst = appendTick(dst, r.Tick, c)
		case col == c.SeqColumn:
			dst = strconv.AppendInt(dst, wrapped(seq, c.SeqWrap), 10)
		case spare:
			dst = append(dst, w...)
		default:
			dst = append(dst, '*')
		}
	}
	return append(dst, '\r', '\n')
}

// used is the number of columns that mean something.
func (c TextConfig) used() (n int) {
	for _, used := range []bool{true, c.TickColumn > 0, c.SeqColumn > 0 && c.SeqColumn != c.TickColumn} {
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
