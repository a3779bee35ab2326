package wire

import (
	"bytes"
	"math"

	"tautlog/analysis/trace"
)

// maxJump is the largest step of a text line's count that is believed to be
// lost lines; a larger one is a restart or a damaged digit.
const maxJump = 1 << 20

// skip says why nothing counts up to the next line end.
type skip uint8

const (
	nothing skip = iota
	unseen       // the beginning of the line was not seen
	long         // the line was too long and is refused already
)

type textDecoder struct {
	config   TextConfig
	classes  *classes
	units    unitNames
	overload [][]byte
	invalid  [][]byte
	scale    float64
	point    byte

	line     []byte // a line whose end has not come yet
	skip     skip
	partial  bool // bytes were skipped whose beginning was not seen
	seq      int64
	counted  bool // seq holds
	raw      int64
	spans    [maxColumn]span
	stats    Stats
	rejected []byte
}

func newTextDecoder(c TextConfig) *textDecoder {
	d := &textDecoder{
		config: c, classes: classify(c.DecimalComma), units: namesFor(c.Unit),
		overload: byteWords(c.Overload), invalid: byteWords(c.Invalid),
		scale: c.TickScale, point: decimalSign(c.DecimalComma),
		line: make([]byte, 0, maxLine),
	}
	if d.scale == 0 {
		d.scale = 1
	}
	d.Reset()
	return d
}

func byteWords(words []string) (b [][]byte) {
	for _, w := range words {
		b = append(b, []byte(w))
	}
	return b
}

func (d *textDecoder) Reset() {
	d.line, d.skip, d.partial, d.counted = d.line[:0], unseen, false, false
}

func (d *textDecoder) Stats() Stats { return d.stats }

func (d *textDecoder) LastRejected() []byte { return bytes.Clone(d.rejected) }

func (d *textDecoder) Decode(dst []Reading, p []byte) []Reading {
	d.stats.Bytes += uint64(len(p))
	from := 0
	for i, c := range p {
		if c != '\n' && c != '\r' {
			continue
		}
		dst = d.end(dst, p[from:i])
		from = i + 1
	}
	d.keep(p[from:])
	return dst
}

// keep holds on to the beginning of a line.
func (d *textDecoder) keep(p []byte) {
	if d.skip != nothing {
		d.partial = d.partial || d.skip == unseen && len(p) > 0
		return
	}
	room := maxLine - len(d.line)
	if len(p) <= room {
		d.line = append(d.line, p...)
		return
	}
	d.reject(append(d.line, p[:room]...))
	d.skip = long
}

// end completes a line with its last bytes.
func (d *textDecoder) end(dst []Reading, p []byte) []Reading {
	if d.skip != nothing || len(d.line) > 0 || len(p) > maxLine {
		d.keep(p)
		p = d.line
	}
	if d.skip == nothing {
		dst = d.take(dst, p)
	} else if d.partial {
		d.stats.Partial++
	}
	d.line, d.skip, d.partial = d.line[:0], nothing, false
	return dst
}

// take reads one complete line.
func (d *textDecoder) take(dst []Reading, line []byte) []Reading {
	n := d.classes.split(&d.spans, line)
	if n == 0 {
		return dst
	}
	r, ok := d.read(line, n)
	if !ok {
		d.reject(line)
		return dst
	}
	d.raw = r.Raw
	d.stats.Units++
	d.stats.Readings++
	return append(dst, r)
}

func (d *textDecoder) reject(line []byte) {
	d.stats.Rejected++
	d.rejected = append(d.rejected[:0], line...)
}

// read makes a reading of a line of n fields.
func (d *textDecoder) read(line []byte, n int) (r Reading, ok bool) {
	if n > maxColumn {
		return r, false
	}
	r.Mark = d.words(line, n)
	r.Raw, ok = d.value(line, n)
	if !ok && r.Mark != 0 {
		r.Raw, r.Mark = d.raw, r.Mark|trace.Invalid
	}
	fits := d.config.Fields == 0 || d.config.Fields == n
	if r.Mark == 0 && !(ok && fits) {
		return r, false
	}
	var seq int64
	counted := false
	if d.config.TickColumn > 0 {
		if r.Tick, r.Timed = d.tick(line, n); !r.Timed && r.Mark == 0 {
			return r, false
		}
	}
	if d.config.SeqColumn > 0 {
		if seq, counted = d.sequence(line, n); !counted && r.Mark == 0 {
			return r, false
		}
	}
	if counted && d.count(seq) {
		r.Mark |= trace.Lost
	}
	return r, true
}

// field is column c of a line of n fields, empty when the line has not so many.
func (d *textDecoder) field(line []byte, n, c int) []byte {
	if c < 1 || c > n {
		return nil
	}
	s := d.spans[c-1]
	return line[s.from:s.to]
}

// words are the marks that words in the line set.
func (d *textDecoder) words(line []byte, n int) (m trace.Mark) {
	if len(d.overload)+len(d.invalid) == 0 {
		return 0
	}
	for c := 1; c <= n; c++ {
		f := d.field(line, n, c)
		if holds(d.overload, f) {
			m |= trace.Overload
		}
		if holds(d.invalid, f) {
			m |= trace.Invalid
		}
	}
	return m
}

// value is the reading of a line, if it is a number in the configured unit.
func (d *textDecoder) value(line []byte, n int) (int64, bool) {
	v, ok := scan(d.field(line, n, d.config.Column), d.point)
	if !ok {
		return 0, false
	}
	if len(v.tail) > 0 {
		if !holds(d.units.right, v.tail) {
			return 0, false
		}
	} else if !d.unitBeside(line, n) {
		return 0, false
	}
	return v.in(d.config.Decimals)
}

// unitBeside reports whether no wrong unit stands behind the number or, where
// it would belong to no other number, before it.
func (d *textDecoder) unitBeside(line []byte, n int) bool {
	c := d.config.Column
	next := d.field(line, n, c+1)
	if holds(d.units.right, next) {
		return true
	}
	if holds(d.units.wrong, next) {
		return false
	}
	if c > 1 && holds(d.units.wrong, d.field(line, n, c-1)) {
		_, owned := scan(d.field(line, n, c-2), d.point)
		return owned
	}
	return true
}

// tick is the instrument's time, wrapped to 32 bits of µs.
func (d *textDecoder) tick(line []byte, n int) (uint32, bool) {
	v, ok := scan(d.field(line, n, d.config.TickColumn), d.point)
	if !ok || v.mantissa < 0 || len(v.tail) > 0 {
		return 0, false
	}
	if v.decimals == 0 && d.scale == 1 {
		return uint32(v.mantissa), true
	}
	// Exact as long as the time in µs is below 2^53, which is 285 years.
	us := math.Round(math.Mod(v.value()*d.scale, 1<<32))
	return uint32(uint64(us)), true
}

func (d *textDecoder) sequence(line []byte, n int) (int64, bool) {
	seq, ok := whole(d.field(line, n, d.config.SeqColumn), d.point)
	if w := d.config.SeqWrap; w > 0 && seq >= w {
		return 0, false
	}
	return seq, ok
}

// count follows the instrument's count and reports whether lines are missing.
func (d *textDecoder) count(seq int64) bool {
	step := seq - d.seq
	if w := d.config.SeqWrap; w > 0 && step <= 0 {
		step += w
	}
	lost := d.counted && step != 1
	if lost && step > 1 && step <= maxJump {
		d.stats.Lost += uint64(step - 1)
	}
	d.seq, d.counted = seq, true
	return lost
}
