package store

import (
	"encoding/binary"
	"math/bits"
)

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
