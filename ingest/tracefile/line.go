package tracefile

import (
	"bytes"
	"errors"
	"slices"

	"tautlog/analysis/trace"
)

// parser turns lines into samples. The fast way reads well-formed lines in
// one pass over their bytes; whatever it does not understand is left to the
// slow way, which alone decides what is right and names what is wrong.
type parser struct {
	layout
	fields [][]byte // reused from line to line
}

// samples are the readings of some whole lines, and the fault that ended them.
type samples struct {
	t         []int64
	f         []float64
	marks     []trace.Mark // as long as t where marked, else empty
	marked    bool
	lines     int // lines seen, the faulty one included
	firstLine int // the line of the first sample, from 1; 0 without samples
	dates     bool
	fault     *Error
}

func (s *samples) reset() { *s = samples{t: s.t[:0], f: s.f[:0], marks: s.marks[:0]} }

// mark puts m on the latest sample.
func (s *samples) mark(m trace.Mark) {
	s.marked = true
	for len(s.marks) < len(s.t) {
		s.marks = append(s.marks, 0)
	}
	s.marks[len(s.t)-1] = m
}

// parse reads all lines of text, which ends in a newline, up to a fault.
func (p *parser) parse(s *samples, text []byte) {
	s.dates = p.dates
	for i := 0; i < len(text); {
		s.lines++
		next, t, f := p.fastLine(text, i)
		var mark trace.Mark
		if next < 0 {
			var line []byte
			line, next = wholeLine(text, i)
			if isBlank(line) {
				i = next
				continue
			}
			if t, f, mark, s.fault = p.slowLine(line, s.lines); s.fault != nil {
				return
			}
		}
		if n := len(s.t); n == 0 {
			s.firstLine = s.lines
		} else if t <= s.t[n-1] {
			s.fault = outOfOrder(s.t[n-1], t, s.lines, p.dates)
			return
		}
		s.t, s.f = append(s.t, t), append(s.f, f)
		if mark != 0 || s.marked {
			s.mark(mark)
		}
		i = next
	}
}

// wholeLine is the line at text[i:] without its end, and the place of the next.
func wholeLine(text []byte, i int) (line []byte, next int) {
	end := i + bytes.IndexByte(text[i:], '\n')
	return bytes.TrimSuffix(text[i:end], []byte{'\r'}), end + 1
}

// largest gives the largest force in text, or zero. Lines that the fast way
// does not understand are read the slow way, faulty ones passed over.
func (p *parser) largest(text []byte) (largest float64) {
	for i := 0; i < len(text); {
		next, f := p.fastForce(text, i)
		if next < 0 {
			var line []byte
			line, next = wholeLine(text, i)
			var mark trace.Mark
			var err *Error
			if _, f, mark, err = p.slowLine(line, 0); err != nil || mark&trace.Invalid != 0 {
				f = 0
			}
		}
		largest = max(largest, f)
		i = next
	}
	return largest
}

// fastForce reads only the force of the line at text[i:].
func (p *parser) fastForce(text []byte, i int) (next int, f float64) {
	if p.quoted {
		return -1, 0
	}
	if p.marks >= 0 {
		next, _, f = p.fastLine(text, i)
		return next, f
	}
	for range p.force {
		i = skipField(text, i, p.separator)
		if i < 0 || text[i] != p.separator {
			return -1, 0
		}
		i++
	}
	d, i := scan(text, i, p.mark)
	f, ok := d.value()
	if !ok || text[i] != p.separator && text[i] != '\r' && text[i] != '\n' {
		return -1, 0
	}
	if text[i] != '\n' {
		i += bytes.IndexByte(text[i:], '\n')
	}
	return i + 1, f * p.newtons
}

// fastLine reads the line at text[i:] and gives the place of the next one, or
// -1 where the slow way must look.
func (p *parser) fastLine(text []byte, i int) (next int, t int64, f float64) {
	if p.quoted {
		return -1, 0, 0
	}
	for column := 0; ; column++ {
		switch column {
		case p.time:
			if t, i = p.fastTime(text, i); i < 0 {
				return -1, 0, 0
			}
		case p.force:
			var d digits
			var ok bool
			d, i = scan(text, i, p.mark)
			if f, ok = d.value(); !ok {
				return -1, 0, 0
			}
			f *= p.newtons
		default:
			begin := i
			if i = skipField(text, i, p.separator); i < 0 || column == p.marks && i > begin {
				return -1, 0, 0
			}
		}
		if column == p.columns-1 {
			break
		}
		if text[i] != p.separator {
			return -1, 0, 0
		}
		i++
	}
	if text[i] == '\r' {
		i++
	}
	if text[i] != '\n' {
		return -1, 0, 0
	}
	return i + 1, t, f
}

func (p *parser) fastTime(text []byte, i int) (int64, int) {
	if p.dates {
		return fastInstant(text, i)
	}
	d, next := scan(text, i, p.mark)
	t, ok := d.nanoseconds()
	if !ok {
		return 0, -1
	}
	return t, next
}

// skipField gives the end of an unquoted field.
func skipField(text []byte, i int, separator byte) int {
	for c := text[i]; c != separator && c != '\n' && c != '\r'; c = text[i] {
		if c == '"' {
			return -1
		}
		i++
	}
	return i
}

func isBlank(line []byte) bool { return len(bytes.Trim(line, " \t")) == 0 }

// slowLine reads one line, which is number n, without its end. A faulty line
// that is no text at all is reported as that.
func (p *parser) slowLine(line []byte, n int) (t int64, f float64, mark trace.Mark, err *Error) {
	t, f, err = p.textLine(line, n)
	if err == nil && p.marks >= 0 {
		mark = ReadMark(p.fields[p.marks])
	}
	if err != nil && !isText(line) {
		err = fault(ErrBinary, n, "give a CSV file of plain text; is this one damaged?", "there are bytes that are no text")
	}
	return t, f, mark, err
}

func (p *parser) textLine(line []byte, n int) (t int64, f float64, _ *Error) {
	var closed bool
	p.fields, closed = split(p.fields[:0], line, p.separator)
	if !closed {
		return 0, 0, fault(ErrRagged, n, "close the quote on the same line", "a quoted value does not end")
	}
	if len(p.fields) != p.columns {
		return 0, 0, p.ragged(line, n)
	}
	t, err := p.slowTime(p.fields[p.time])
	if err != nil {
		return 0, 0, p.badTime(err, p.fields[p.time], n)
	}
	f, err = anyDecimal(p.fields[p.force], p.mark)
	if err == nil {
		if f *= p.newtons; f-f == 0 {
			return t, f, nil
		}
		err = ErrNotFinite
	}
	return 0, 0, p.badForce(err, p.fields[p.force], n)
}

func (p *parser) slowTime(b []byte) (int64, error) {
	if p.dates {
		return anyInstant(b)
	}
	return anySeconds(b, p.mark)
}

func (p *parser) ragged(line []byte, n int) *Error {
	remedy := "complete or remove the line"
	if p.separator == ',' && p.mark == ',' {
		remedy = "where numbers have a decimal comma, put a semicolon or a tab between the columns, or quote the numbers"
	} else if bytes.HasPrefix(bytes.TrimLeft(line, " \t"), []byte("#")) {
		remedy = "remove the comment: comments may only stand before the header"
	}
	return fault(ErrRagged, n, remedy, "%s where the header has %d", counted(len(p.fields), "column"), p.columns)
}

func (p *parser) badTime(err error, b []byte, n int) *Error {
	name := p.names[p.time]
	switch {
	case p.dates:
		return fault(ErrTime, n, "write it as in 2026-05-17T09:30:00.125Z, with a zone, from 1678 to 2261", "%s is %s, which is no RFC 3339 time", name, shown(b))
	case errors.Is(err, ErrTime):
		return fault(ErrTime, n, "give seconds, less than 292 years of them; are these milliseconds?", "%s is %s, too many seconds to keep", name, shown(b))
	case errors.Is(err, ErrNotFinite):
		return fault(ErrNotFinite, n, "remove the line or write the time", "%s is %s, not a finite number", name, shown(b))
	}
	return p.badNumber(b, n, "%s is %s, not a number of seconds", name)
}

func (p *parser) badForce(err error, b []byte, n int) *Error {
	name := p.names[p.force]
	if errors.Is(err, ErrNotFinite) {
		return fault(ErrNotFinite, n, "remove the line: a reading that is missing is left out, not written as a number", "%s is %s, not a finite number", name, shown(b))
	}
	if len(b) == 0 {
		return fault(ErrNumber, n, "remove the line or write the reading", "%s is empty", name)
	}
	return p.badNumber(b, n, "%s is %s, not a number", name)
}

// badNumber says what to do about a number, and knows the common mistake.
func (p *parser) badNumber(b []byte, n int, problem, name string) *Error {
	if p.mark == '.' && slices.Contains(b, ',') && isDecimal(b, ',') {
		return fault(errors.Join(ErrNumber, ErrComma), n, "write a decimal point", problem, name, shown(b)).flag("give --decimal-comma")
	}
	if p.mark == ',' && slices.Contains(b, '.') && isDecimal(b, '.') {
		return fault(errors.Join(ErrNumber, ErrPoint), n, "write a decimal comma", problem, name, shown(b)).flag("leave out --decimal-comma")
	}
	return fault(ErrNumber, n, "write a plain decimal number or remove the line", problem, name, shown(b))
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return itoa(n) + " " + what + "s"
}
