package store

import (
	"encoding/binary"
	"math/bits"
)

// decodeReadings reads len(raw) readings of coding 2 from in, which holds
// nothing else.
func decodeReadings(raw []int64, in []byte) error {
	if len(raw) == 0 {
		return nil
	}
	first, used := binary.Varint(in)
	if used <= 0 {
		return errCoded
	}
	in = in[used:]
	h := history{last: first, mean: first}
	var f frameReader
	for len(raw) > 0 {
		frame := raw[:min(frameLength, len(raw))]
		raw = raw[len(frame):]
		order, rest, ok := f.read(&h, len(frame), in)
		if !ok {
			return errCoded
		}
		in = rest
		h.restore(order, frame, &f.u)
		h.step(frame)
	}
	if len(in) > 0 {
		return errCoded
	}
	return nil
}

// frameReader reads the remainders of frames.
type frameReader struct {
	u    remainders
	quot [frameLength + 16]byte // quotients, and what is written beyond the last
	edge [frameLength]byte      // low bits at the end of what is read
}

// read reads the remainders of a frame of n readings into u, and the mean into
// h. It gives what of in is behind the frame.
func (f *frameReader) read(h *history, n int, in []byte) (order predictor, rest []byte, ok bool) {
	if len(in) == 0 {
		return 0, nil, false
	}
	order, shift := predictor(in[0]>>shiftBits2), uint(in[0])&(1<<shiftBits2-1)
	in = in[1:]
	if order >= predictors {
		return 0, nil, false
	}
	if order == byMean {
		d, used := binary.Varint(in)
		if used <= 0 {
			return 0, nil, false
		}
		h.mean += d
		in = in[used:]
	}
	size := lowBytes(n, shift)
	if len(in) < size {
		return 0, nil, false
	}
	low := in
	in, ok = f.quotients(n, in[size:])
	if !ok {
		return 0, nil, false
	}
	f.low(n, shift, low[:size:len(low)])
	in, ok = f.rests(n, shift, in)
	return order, in, ok
}

// unary tells of a byte of quotients in unary how many ones it has, how many
// zeros come before each, a byte for each, and how many behind the last. keep is
// all ones where it has no one at all: the zeros before it are still open.
type unary struct {
	zeros uint64
	ones  uint8
	left  uint8
	keep  uint8
}

var unaries = makeUnaries()

func makeUnaries() (table [256]unary) {
	for b := range table {
		e := unary{}
		run := uint8(0)
		for i := range 8 {
			if b>>i&1 == 0 {
				run++
				continue
			}
			e.zeros |= uint64(run) << (8 * e.ones)
			e.ones++
			run = 0
		}
		e.left = run
		if e.ones == 0 {
			e.keep = 0xff
		}
		table[b] = e
	}
	return table
}

// quotients reads n quotients. It gives what of in is behind them.
func (f *frameReader) quotients(n int, in []byte) ([]byte, bool) {
	at, used := 0, 0
	var open, most uint64 // zeros since the last one; their bits at any time
	for at < n {
		if used >= len(in) {
			return nil, false
		}
		e := &unaries[in[used]]
		used++
		binary.LittleEndian.PutUint64(f.quot[at:at+8], e.zeros+open)
		at += int(e.ones)
		open = open&uint64(e.keep) + uint64(e.left)
		most |= open
	}
	return in[used:], at == n && most < 16
}

// low puts the quotients and low bits together.
func (f *frameReader) low(n int, shift uint, in []byte) {
	width := shift & 7
	packed := (n + frameGroup - 1) / frameGroup * int(width)
	planes := in[packed:]
	if cap(in) < packed+8 { // eight bytes are read at a time
		copy(f.edge[:], in[:packed])
		in = f.edge[:]
	}
	in = in[:packed+8]
	mask := uint64(1)<<width - 1
	for g := 0; g < n; g += frameGroup {
		x, q := (*[frameGroup]uint64)(f.u[g:g+frameGroup]), (*[frameGroup]byte)(f.quot[g:g+frameGroup])
		w := binary.LittleEndian.Uint64(in)
		in = in[width:]
		x[0] = uint64(q[0])<<(shift&63) | w&mask
		w >>= width
		x[1] = uint64(q[1])<<(shift&63) | w&mask
		w >>= width
		x[2] = uint64(q[2])<<(shift&63) | w&mask
		w >>= width
		x[3] = uint64(q[3])<<(shift&63) | w&mask
		w >>= width
		x[4] = uint64(q[4])<<(shift&63) | w&mask
		w >>= width
		x[5] = uint64(q[5])<<(shift&63) | w&mask
		w >>= width
		x[6] = uint64(q[6])<<(shift&63) | w&mask
		w >>= width
		x[7] = uint64(q[7])<<(shift&63) | w&mask
	}
	for from := width; from < shift; from += 8 {
		plane := planes[:n]
		planes = planes[n:]
		for i, b := range plane {
			f.u[i&(frameLength-1)] |= uint64(b) << (from & 63)
		}
	}
}

// rests adds the rests of long quotients. It gives what of in is behind them.
func (f *frameReader) rests(n int, shift uint, in []byte) ([]byte, bool) {
	const high = 0x8080808080808080
	most := ^uint64(0) >> shift // no quotient is larger
	for g := 0; g < n; g += frameGroup {
		long := (binary.LittleEndian.Uint64(f.quot[g:g+8]) + (0x80-longQuot)*0x0101010101010101) & high
		for ; long != 0; long &= long - 1 {
			i := g + bits.TrailingZeros64(long)/8
			if i >= n {
				break
			}
			rest, used := binary.Uvarint(in)
			if used <= 0 || f.quot[i] != longQuot || most < longQuot || rest > most-longQuot {
				return nil, false
			}
			f.u[i] += rest << shift
			in = in[used:]
		}
	}
	return in, true
}

// restore is the reverse of foresee; the mean is in the history.
func (h *history) restore(p predictor, frame []int64, u *remainders) {
	last, slope, mean := h.last, h.slope, h.mean
	switch p {
	case byMean:
		for i := range frame {
			frame[i] = mean + unfold(u[i&(frameLength-1)])
		}
	case byLast:
		for i := range frame {
			last += unfold(u[i&(frameLength-1)])
			frame[i] = last
		}
	default:
		for i := range frame {
			slope += unfold(u[i&(frameLength-1)])
			last += slope
			frame[i] = last
		}
	}
}
