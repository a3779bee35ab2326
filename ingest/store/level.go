package store

import (
	"encoding/binary"
	"math"

	"tautlog/analysis/trace"
)

// extent is the extremes of a few consecutive readings of a cell. Readings
// that the instrument called invalid are not in it: their values mean
// nothing.
type extent struct {
	from, to int64 // times of the first and the last reading
	n        int
	min, max int64
}

// The levels: how many readings one extent of a block sums up. Coarse ones
// draw a day, fine ones some minutes.
const (
	coarse = 4096
	fine   = 256
)

// extents sums up runs in stretches of size readings. Where readings are
// missing a stretch ends early, so that it never covers a long silence.
func extents(runs []Run, size int) []extent {
	out := make([]extent, 0, countReadings(runs)/size+1)
	var e extent
	for _, r := range runs {
		if e.n > 0 && float64(r.Start-e.from) > 2*float64(size)*r.Step {
			out = append(out, e)
			e = extent{}
		}
		for i, v := range r.Raw {
			if r.Mark(i)&trace.Invalid != 0 {
				continue
			}
			e.add(r.At(i), v)
			if e.n == size {
				out = append(out, e)
				e = extent{}
			}
		}
	}
	if e.n > 0 {
		out = append(out, e)
	}
	return out
}

func (e *extent) add(at, v int64) {
	if e.n == 0 {
		*e = extent{from: at, to: at, n: 1, min: v, max: v}
		return
	}
	e.from, e.to = min(e.from, at), max(e.to, at)
	e.n++
	e.min, e.max = min(e.min, v), max(e.max, v)
}

// merge adds the readings of another extent.
func (e *extent) merge(o extent) {
	if e.n == 0 {
		*e = o
		return
	}
	e.from, e.to = min(e.from, o.from), max(e.to, o.to)
	e.n += o.n
	e.min, e.max = min(e.min, o.min), max(e.max, o.max)
}

// longest is the time that the longest extent takes.
func longest(es []extent) (ns int64) {
	for _, e := range es {
		ns = max(ns, e.to-e.from)
	}
	return ns
}

// A forecast is what a steady line would give next; extents are packed as
// their differences from it, which are small.
type forecast struct {
	before extent
	pause  int64 // from one extent to the next
}

func (f *forecast) step(e extent) {
	if f.before.n > 0 {
		f.pause = e.from - f.before.to
	}
	f.before = e
}

// encodeExtents packs extents. The layout is in the package comment.
func encodeExtents(es []extent) []byte {
	out := []byte{}
	var f forecast
	for _, e := range es {
		b := f.before
		out = binary.AppendUvarint(out, uint64(e.n))
		out = binary.AppendVarint(out, e.from-b.to-f.pause)
		out = binary.AppendVarint(out, (e.to-e.from)-(b.to-b.from))
		out = binary.AppendVarint(out, e.min-b.min)
		out = binary.AppendUvarint(out, uint64(e.max)-uint64(e.min))
		f.step(e)
	}
	return out
}

// decodeExtents gives each packed extent to use. It returns false when the
// bytes are not what encodeExtents makes.
func decodeExtents(packed []byte, use func(extent)) bool {
	in := scanner{in: packed}
	var f forecast
	for len(in.in) > 0 {
		b := f.before
		e := extent{n: int(in.uvarint() & math.MaxInt32)}
		e.from = b.to + f.pause + in.varint()
		e.to = e.from + (b.to - b.from) + in.varint()
		e.min = b.min + in.varint()
		e.max = int64(uint64(e.min) + in.uvarint())
		if in.bad || e.n == 0 {
			return false
		}
		use(e)
		f.step(e)
	}
	return true
}
