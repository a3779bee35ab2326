package rehearse

import (
	"bytes"
	"math"

	"tautlog/analysis/trace"
	"tautlog/ingest/wire"
)

// listener is the part of an amplifier that heeds what is sent to it: a string
// that starts it, and requests, with a line of text or by Modbus, each of which
// it answers with the latest reading. It says nothing by itself.
type listener struct {
	cell    Cell
	start   []byte // nil: it needs none
	request []byte // nil: it sends by itself
	started bool

	heard  []byte // and not heeded yet
	latest Sample
	taken  int64 // readings since power-up
	seq    int64 // answers since power-up
}

// newListener is that of a cell that has just been powered up.
func newListener(c Cell) *listener {
	l := &listener{cell: c, start: c.Wire.Start(), request: c.Wire.Request()}
	l.started = l.start == nil
	return l
}

// asked says whether the cell sends nothing but answers.
func (l *listener) asked() bool { return l.request != nil }

// take takes the next reading of the cell.
func (l *listener) take(s Sample) {
	l.latest = s
	l.taken++
}

// hear takes what was sent to the amplifier.
func (l *listener) hear(p []byte) {
	l.heard = append(l.heard, p...)
	if !l.started {
		l.started = l.next(l.start)
	}
	if l.started && !l.asked() {
		l.heard = l.heard[:0]
	}
}

// next looks for a string in what was heard, and forgets it with what lies
// before it.
func (l *listener) next(s []byte) bool {
	if _, rest, ok := bytes.Cut(l.heard, s); ok {
		l.heard = rest
		return true
	}
	l.heard = l.heard[max(0, len(l.heard)-len(s)+1):] // it may have begun
	return false
}

// answers appends the answers to all requests that were heard, and gives the
// readings that they tell.
func (l *listener) answers(dst []byte) (out []byte, told []Sample) {
	if !l.started || l.taken == 0 {
		return dst, nil
	}
	if m := l.cell.Wire.Modbus; l.cell.Wire.Format == wire.Modbus {
		before := len(dst)
		if dst, l.heard = m.AppendAnswers(dst, l.heard, m.Bits(l.modbusRaw())); len(dst) > before {
			told = append(told, l.latest)
		}
		return dst, told
	}
	for l.next(l.request) {
		if l.cell.Wire.Ask.Echo {
			dst = append(dst, l.request...)
		}
		r := wire.Reading{Raw: l.latest.Raw, Tick: l.cell.tick(l.taken - 1), Timed: true, Mark: l.latest.Mark}
		dst = wire.AppendLine(dst, l.cell.Wire.Text, r, l.seq)
		l.seq++
		told = append(told, l.latest)
	}
	return dst, told
}

// modbusRaw is the latest reading; one beyond the range of the amplifier is
// the end of the range of whole numbers.
func (l *listener) modbusRaw() int64 {
	switch {
	case l.latest.Mark&trace.Overload == 0 || l.cell.Wire.Modbus.Type == "float32":
		return l.latest.Raw
	case l.latest.Raw < 0:
		return math.MinInt64
	}
	return math.MaxInt64
}
