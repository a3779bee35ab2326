package wire

import (
	"bytes"
	"math"
	"math/bits"

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
	outside      // behind the end of text, where a checksum may be
)

// The control characters that begin and end a text.
const (
	startOfText = 2
	endOfText   = 3
)

// badParity stands for a byte whose parity is wrong. It is no ASCII.
const badParity = 0xff

type textDecoder struct {
	config   TextConfig
	parting  *parting
	notation notation
	units    unitNames
	overload [][]byte
	invalid  [][]byte
	status   [][]byte
	echo     echo
	scale    float64

	line     []byte // a line whose end has not come yet
	skip     skip
	partial  bool // bytes were skipped whose beginning was not seen
	framed   bool // the line began with STX
	seq      int64
	counted  bool // seq holds
	raw      int64
	spans    [maxColumn]span
	seven    [512]byte // bytes without their parity
	stats    Stats
	rejected []byte
}

func newTextDecoder(c TextConfig, e echo) *textDecoder {
	d := &textDecoder{
		config: c, parting: newParting(c), notation: c.notation(), units: namesFor(c.Unit),
		overload: byteWords(c.Overload), invalid: byteWords(c.Invalid), status: byteWords(c.Status),
		echo: e, scale: c.TickScale, line: make([]byte, 0, maxLine),
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
	d.line, d.skip, d.partial, d.framed, d.counted = d.line[:0], unseen, false, false, false
}

func (d *textDecoder) Expect() {
	d.line, d.skip, d.partial, d.framed = d.line[:0], nothing, false, false
}

func (d *textDecoder) Stats() Stats { return d.stats }

func (d *textDecoder) LastRejected() []byte { return bytes.Clone(d.rejected) }

func (d *textDecoder) Complaint() string { return "" }

func (d *textDecoder) Decode(dst []Reading, p []byte) []Reading {
	d.stats.Bytes += uint64(len(p))
	if d.config.Parity == "" {
		return d.decode(dst, p)
	}
	for len(p) > 0 {
		n := d.config.Parity.strip(d.seven[:], p)
		dst = d.decode(dst, d.seven[:n])
		p = p[n:]
	}
	return dst
}

// strip takes the parity off as many bytes as fit.
func (k Parity) strip(dst, p []byte) int {
	n := min(len(dst), len(p))
	for i, b := range p[:n] {
		odd := bits.OnesCount8(b)%2 == 1
		dst[i] = b & 0x7f
		if k == EvenParity && odd || k == OddParity && !odd {
			dst[i] = badParity
		}
	}
	return n
}

func (d *textDecoder) decode(dst []Reading, p []byte) []Reading {
	from := 0
	for i, c := range p {
		if c > '\r' {
			continue
		}
		switch c {
		case '\n', '\r':
			dst = d.end(dst, p[from:i])
			from = i + 1
		case startOfText:
			d.begin(p[from:i])
			from = i + 1
		case endOfText:
			framed := d.framed || d.skip == outside
			dst = d.end(dst, p[from:i])
			if from = i + 1; framed {
				d.skip = outside
			}
		}
	}
	d.keep(p[from:])
	return dst
}

// begin begins a line at its STX. Text that stands before it has no end.
func (d *textDecoder) begin(p []byte) {
	d.keep(p)
	if d.skip == nothing && len(trimLeft(d.line)) > 0 && !d.echo.is(d.line) {
		d.reject(d.line)
	} else if d.partial {
		d.stats.Partial++
	}
	d.line, d.skip, d.partial, d.framed = d.line[:0], nothing, false, true
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
	d.line, d.skip, d.partial, d.framed = d.line[:0], nothing, false, false
	return dst
}

// take reads one complete line.
func (d *textDecoder) take(dst []Reading, line []byte) []Reading {
	text, sound := line, true
	if !d.framed { // with STX, the answer is parted from the echo
		text, sound = d.echo.cut(line)
	}
	n := d.parting.split(&d.spans, text)
	if n == 0 && sound {
		return dst
	}
	if d.config.Parity != "" && bytes.IndexByte(line, badParity) >= 0 {
		sound = false
	}
	var r Reading
	if sound {
		r, sound = d.read(text, n)
	}
	if !sound {
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

// read makes a reading of a line of n fields. It changes nothing that a
// refused line must not.
func (d *textDecoder) read(line []byte, n int) (r Reading, ok bool) {
	if n > maxColumn {
		return r, false
	}
	r.Mark = d.words(line, n)
	r.Raw, ok = d.value(line, n)
	if !ok && r.Mark != 0 {
		r.Raw, r.Mark = d.raw, r.Mark|trace.Invalid
	}
	if r.Mark == 0 && !(ok && d.fits(line, n)) {
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

// fits reports whether an ordinary line has its fields and a known status.
func (d *textDecoder) fits(line []byte, n int) bool {
	c := &d.config
	if c.Cuts != nil && n != len(c.Cuts)+1 || c.Fields != 0 && c.Fields != n {
		return false
	}
	return c.StatusColumn == 0 || holds(d.status, d.field(line, n, c.StatusColumn))
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
	v, ok := d.notation.scan(d.field(line, n, d.config.Column))
	if !ok || !d.rightUnit(v, line, n) {
		return 0, false
	}
	if c := d.config.SignColumn; c > 0 {
		switch f := d.field(line, n, c); {
		case v.signed || len(f) > 1:
			return 0, false
		case len(f) == 1 && f[0] == '-':
			v.mantissa = -v.mantissa
		case len(f) == 1 && f[0] != '+':
			return 0, false
		}
	}
	return v.in(d.config.Decimals)
}

// rightUnit reports whether the number has the configured unit, or none where
// none need be.
func (d *textDecoder) rightUnit(v number, line []byte, n int) bool {
	if len(v.tail) > 0 {
		return holds(d.units.right, v.tail)
	}
	c := d.config.Column
	next := d.field(line, n, c+1)
	if holds(d.units.right, next) {
		return true
	}
	if holds(d.units.wrong, next) {
		return false
	}
	if before := d.field(line, n, c-1); len(before) > 0 {
		if _, owned := d.notation.scan(d.field(line, n, c-2)); !owned {
			if holds(d.units.right, before) {
				return true
			}
			if holds(d.units.wrong, before) {
				return false
			}
		}
	}
	return !d.config.UnitWritten
}

// tick is the instrument's time, wrapped to 32 bits of µs.
func (d *textDecoder) tick(line []byte, n int) (uint32, bool) {
	v, ok := d.notation.scan(d.field(line, n, d.config.TickColumn))
	if !ok || v.mantissa < 0 || len(v.tail) > 0 {
		return 0, false
	}
	if v.decimals == 0 && !v.rounds && d.scale == 1 {
		return uint32(v.mantissa), true
	}
	// Exact as long as the time in µs is below 2^53, which is 285 years.
	us := math.Round(math.Mod(v.value()*d.scale, 1<<32))
	return uint32(uint64(us)), true
}

func (d *textDecoder) sequence(line []byte, n int) (int64, bool) {
	seq, ok := d.notation.whole(d.field(line, n, d.config.SeqColumn))
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
