package store

import (
	"encoding/binary"
	"errors"
	"math"
	"math/bits"
)

// The coding of readings, number 1: prediction and Rice codes.
//
// A cell's reading is a slow signal with noise of some counts on it. Each
// frame of readings is predicted either by its own mean (a quiet line: only
// the noise is left, and no difference of two noisy readings makes it larger)
// or by the first or second difference (a rising line), whichever leaves the
// smallest remainders. The remainders are folded to unsigned numbers and
// written as Rice codes: Golomb, Run-length encodings, IEEE Trans. Inf.
// Theory 12 (1966) 399, doi:10.1109/TIT.1966.1053907, with the divisor a
// power of two as in Rice and Plaunt, IEEE Trans. Commun. 19 (1971) 889,
// doi:10.1109/TCOM.1971.1090789.
//
// All arithmetic wraps at 64 bits, so that every int64 comes back exactly.
// The layout is in the package comment.
const (
	codecRice = 1

	frameLength = 256 // readings a frame
	escapeOnes  = 24  // a quotient this long is replaced by the plain 64 bits
	orderBits   = 2
	shiftBits   = 6
)

// predictor is how a frame foresees its readings.
type predictor uint

const (
	byMean predictor = iota
	byLast
	bySlope
	predictors
)

var errCoded = errors.New("coded readings are cut short or malformed")

// appendReadings codes raw and appends it to out.
func appendReadings(out []byte, raw []int64) []byte {
	if len(raw) == 0 {
		return out
	}
	w := newBitWriter(binary.AppendVarint(out, raw[0]))
	h := history{last: raw[0], mean: raw[0]}
	var folded [frameLength]uint64
	for len(raw) > 0 {
		frame := raw[:min(frameLength, len(raw))]
		raw = raw[len(frame):]
		order, mean := h.choose(frame)
		h.remainders(order, mean, frame, &folded)
		shift := riceShift(folded[:len(frame)])
		w.write(uint64(order), orderBits)
		w.write(uint64(shift), shiftBits)
		if order == byMean {
			w.rice(fold(mean-h.mean), shift)
			h.mean = mean
		}
		for _, u := range folded[:len(frame)] {
			w.rice(u, shift)
		}
		h.step(frame)
	}
	return w.bytes()
}

// decodeReadings reads len(raw) readings from in, which holds nothing else.
func decodeReadings(raw []int64, in []byte) error {
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
		frame := raw[:min(frameLength, len(raw))]
		raw = raw[len(frame):]
		order, shift := predictor(r.read(orderBits)), uint(r.read(shiftBits))
		if order >= predictors || r.over() {
			return errCoded
		}
		if order == byMean {
			h.mean += unfold(r.rice(shift))
		}
		h.restore(order, frame, &r, shift)
		h.step(frame)
	}
	if r.over() {
		return errCoded
	}
	return nil
}

// history is what the coder and the decoder both know before a frame.
type history struct {
	last, slope int64 // of the frame before
	mean        int64 // of the latest frame that was coded by its mean
}

// step moves the history past a frame.
func (h *history) step(frame []int64) {
	n := len(frame)
	before := h.last
	if n > 1 {
		before = frame[n-2]
	}
	h.last = frame[n-1]
	h.slope = h.last - before
}

// choose finds the predictor with the smallest remainders, and the mean.
func (h *history) choose(frame []int64) (predictor, int64) {
	var sum int64 // of distances from the first reading: does not overflow for real readings
	for _, v := range frame {
		sum += v - frame[0]
	}
	mean := frame[0] + int64(math.RoundToEven(float64(sum)/float64(len(frame))))
	var cost [predictors]float64
	last, slope := h.last, h.slope
	for _, v := range frame {
		d := v - last
		cost[byMean] += magnitude(v - mean)
		cost[byLast] += magnitude(d)
		cost[bySlope] += magnitude(d - slope)
		last, slope = v, d
	}
	best := byMean
	for p := byLast; p < predictors; p++ {
		if cost[p] < cost[best] {
			best = p
		}
	}
	return best, mean
}

func magnitude(d int64) float64 { return math.Abs(float64(d)) }

// remainders fills folded with what the predictor leaves of the frame.
func (h *history) remainders(p predictor, mean int64, frame []int64, folded *[frameLength]uint64) {
	last, slope := h.last, h.slope
	for i, v := range frame {
		d := v - last
		switch p {
		case byMean:
			folded[i] = fold(v - mean)
		case byLast:
			folded[i] = fold(d)
		default:
			folded[i] = fold(d - slope)
		}
		last, slope = v, d
	}
}

// restore is the reverse of remainders; the mean is in the history.
func (h *history) restore(p predictor, frame []int64, r *bitReader, shift uint) {
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

// riceShift is the shift that codes the numbers in the fewest bits. The best
// one is near the logarithm of their mean; its neighbours are tried as well.
func riceShift(folded []uint64) uint {
	var sum float64
	for _, u := range folded {
		sum += float64(u)
	}
	guess := 0
	if mean := sum / float64(len(folded)); mean > 1 {
		guess = int(math.Log2(mean))
	}
	best, least := uint(0), uint64(math.MaxUint64)
	for shift := uint(max(guess-1, 0)); shift <= uint(min(guess+1, 63)); shift++ {
		if bits := riceLength(folded, shift); bits < least {
			best, least = shift, bits
		}
	}
	return best
}

func riceLength(folded []uint64, shift uint) uint64 {
	total := uint64(len(folded)) * uint64(shift+1)
	for _, u := range folded {
		if q := u >> shift; q < escapeOnes {
			total += q
		} else {
			total += escapeOnes + 64
		}
	}
	return total
}

// rice writes u as its upper part in ones and a zero, then its low shift bits.
func (w *bitWriter) rice(u uint64, shift uint) {
	q := u >> shift
	if q >= escapeOnes {
		w.write(1<<escapeOnes-1, escapeOnes)
		w.write(u, 64)
		return
	}
	low := u & (1<<shift - 1)
	ones := uint64(1)<<(q+1) - 2
	if n := uint(q) + 1 + shift; n <= 64 {
		w.write(ones<<shift|low, n)
		return
	}
	w.write(ones, uint(q)+1)
	w.write(low, shift)
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

// fold maps small numbers of either sign to small unsigned ones.
func fold(v int64) uint64 { return uint64(v<<1) ^ uint64(v>>63) }

func unfold(u uint64) int64 { return int64(u>>1) ^ -int64(u&1) }
