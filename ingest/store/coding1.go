package store

import (
	"encoding/binary"
	"math/bits"
)

// The coding of readings, number 1: prediction and Rice codes, one after the
// other in a stream of bits. It is read and no longer written: stores from
// before coding 2 have blocks of it. The layout is in the package comment.
const (
	codingRice = 1

	coding1Frame = 256 // readings a frame
	escapeOnes   = 24  // a quotient this long is replaced by the plain 64 bits
	orderBits    = 2
	shiftBits    = 6
)

// decodeCoding1 reads len(raw) readings from in, which holds nothing else.
func decodeCoding1(raw []int64, in []byte) error {
	if len(raw) == 0 {
		return nil
	}
	first, n := binary.Varint(in)
	if n <= 0 {
		return errCoded
	}
	r := bitReader{in: in[n:]}
	h := history{last: first, mean: first}
	for len(raw) > 0 {
		frame := raw[:min(coding1Frame, len(raw))]
		raw = raw[len(frame):]
		order, shift := predictor(r.read(orderBits)), uint(r.read(shiftBits))
		if order >= predictors || r.over() {
			return errCoded
		}
		if order == byMean {
			h.mean += unfold(r.rice(shift))
		}
		r.restore(&h, order, frame, shift)
		h.step(frame)
	}
	if r.over() {
		return errCoded
	}
	return nil
}

// restore reads the remainders of a frame and adds what was foreseen; the
// mean is in the history.
func (r *bitReader) restore(h *history, p predictor, frame []int64, shift uint) {
	last, slope := h.last, h.slope
	switch p {
	case byMean:
		for i := range frame {
			frame[i] = h.mean + unfold(r.rice(shift))
		}
	case byLast:
		for i := range frame {
			last += unfold(r.rice(shift))
			frame[i] = last
		}
	default:
		for i := range frame {
			slope += unfold(r.rice(shift))
			last += slope
			frame[i] = last
		}
	}
}

func (r *bitReader) rice(shift uint) uint64 {
	if shift <= 56-escapeOnes { // the whole code is within one look
		look := r.peek()
		q := uint(bits.LeadingZeros64(^look))
		if q < escapeOnes {
			r.pos += int(q + 1 + shift)
			return uint64(q)<<shift | look<<(q+1)>>(64-shift)
		}
	}
	q := r.ones(escapeOnes)
	if q == escapeOnes {
		return r.read(64)
	}
	return uint64(q)<<shift | r.read(shift)
}
