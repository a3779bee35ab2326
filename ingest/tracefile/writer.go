package tracefile

import (
	"bufio"
	"io"
	"strconv"
	"time"

	"tautlog/analysis/trace"
)

// Writer writes a trace as CSV with the columns time (RFC 3339, UTC) or t_s
// (seconds from a start), force_N, raw and mark. What it writes is read back
// to the same times, to the nanosecond, and the same marks. Readings that the
// cell itself called void mean nothing: they are left out and counted.
//
// A force is printed to 15 significant digits, the most that a decimal number
// keeps through a float64: a reading of 12.345 leaves as 12.345. That is far
// finer than one count of any instrument.
type Writer struct {
	out  *bufio.Writer
	line []byte
	voids
	seconds bool
	start   int64
}

// voids counts the readings that are left out of a file.
type voids struct{ n int }

// Void is how many readings were left out, as the cell called them void.
func (v *voids) Void() int { return v.n }

// void says whether a reading is to be left out, and counts it then.
func (v *voids) void(b trace.Batch, i int) bool {
	void := b.Marks != nil && b.Marks[i]&trace.Invalid != 0
	if void {
		v.n++
	}
	return void
}

// NewWriter makes a Writer of times in RFC 3339 and writes the header. Errors
// are told by Flush.
func NewWriter(w io.Writer) *Writer {
	out := &Writer{out: bufio.NewWriterSize(w, 64<<10)}
	out.out.WriteString("time,force_N,raw,mark\n")
	return out
}

// NewSecondsWriter makes a Writer of times in seconds from start, which is in
// nanoseconds, and writes the header.
func NewSecondsWriter(w io.Writer, start int64) *Writer {
	out := &Writer{out: bufio.NewWriterSize(w, 64<<10), seconds: true, start: start}
	out.out.WriteString("t_s,force_N,raw,mark\n")
	return out
}

// Write writes samples, with the raw reading of each.
func (w *Writer) Write(b trace.Batch, raw []int64) error {
	if len(raw) != b.Len() {
		panic("tracefile: samples and raw readings of unlike number")
	}
	for i, t := range b.T {
		if w.void(b, i) {
			continue
		}
		line := w.appendTime(w.line[:0], t)
		line = appendForce(append(line, ','), b.F[i])
		line = strconv.AppendInt(append(line, ','), raw[i], 10)
		line = append(line, ',')
		if b.Marks != nil {
			line = AppendMark(line, b.Marks[i])
		}
		w.line = append(line, '\n')
		if _, err := w.out.Write(w.line); err != nil {
			return err
		}
	}
	return nil
}

func (w *Writer) appendTime(b []byte, t int64) []byte {
	if w.seconds {
		return appendSeconds(b, t-w.start)
	}
	return time.Unix(0, t).UTC().AppendFormat(b, time.RFC3339Nano)
}

// appendForce prints 15 significant digits without needless zeros, and
// without an exponent where that is readable.
func appendForce(b []byte, f float64) []byte {
	begin := len(b)
	b = strconv.AppendFloat(b, f, 'e', 14, 64)
	short, err := strconv.ParseFloat(string(b[begin:]), 64)
	if err != nil {
		return b
	}
	return strconv.AppendFloat(b[:begin], short, 'g', -1, 64)
}

// Flush writes what is held back and gives the first error.
func (w *Writer) Flush() error { return w.out.Flush() }
