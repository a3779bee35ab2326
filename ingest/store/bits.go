package store

import (
	"encoding/binary"
	"math/bits"
)

// A bitWriter appends bits to a byte slice, the highest bit of a byte first.
type bitWriter struct {
	out  []byte
	acc  uint64 // the last free bits of it are not used yet
	free uint   // 1..64
}

func newBitWriter(out []byte) bitWriter { return bitWriter{out: out, free: 64} }

// write appends the low n bits of v, which has no others set; n is 0 to 64.
func (w *bitWriter) write(v uint64, n uint) {
	if n < w.free {
		w.free -= n
		w.acc |= v << w.free
		return
	}
	over := n - w.free
	w.out = binary.BigEndian.AppendUint64(w.out, w.acc|v>>over)
	w.free = 64 - over
	w.acc = v << w.free // with over 0 the shift is 64 and gives 0
}

// bytes fills the last byte with zeros and gives all that was written.
func (w *bitWriter) bytes() []byte {
	for used := int(64 - w.free); used > 0; used -= 8 {
		w.out = append(w.out, byte(w.acc>>56))
		w.acc <<= 8
	}
	w.acc, w.free = 0, 64
	return w.out
}

// A bitReader reads what a bitWriter wrote. Beyond the end it reads zeros;
// over tells that this has happened.
type bitReader struct {
	in  []byte
	pos int // in bits
}

// peek gives the bits from the present position on, at least 57 of them, the
// first one highest.
func (r *bitReader) peek() uint64 {
	at := r.pos >> 3
	if at+8 <= len(r.in) {
		return binary.BigEndian.Uint64(r.in[at:]) << (r.pos & 7)
	}
	var last [8]byte
	if at < len(r.in) {
		copy(last[:], r.in[at:])
	}
	return binary.BigEndian.Uint64(last[:]) << (r.pos & 7)
}

// read takes the next n bits, 0 to 64.
func (r *bitReader) read(n uint) uint64 {
	if n > 32 {
		high := r.read(n - 32)
		return high<<32 | r.read(32)
	}
	v := r.peek() >> (64 - n) // with n 0 the shift is 64 and gives 0
	r.pos += int(n)
	return v
}

// ones takes a row of at most limit ones and, when shorter, the zero that
// ends it. limit is at most 56.
func (r *bitReader) ones(limit uint) uint {
	n := uint(bits.LeadingZeros64(^r.peek()))
	if n >= limit {
		r.pos += int(limit)
		return limit
	}
	r.pos += int(n) + 1
	return n
}

func (r *bitReader) over() bool { return r.pos > 8*len(r.in) }
