package store

import (
	"encoding/binary"
	"math"
	"math/bits"
	"slices"
)

// frameRoom is more than a frame takes, the rests of its long quotients left
// out: head, mean, low bits, quotients, and what is written beyond the end.
const frameRoom = 1 + binary.MaxVarintLen64 + 8*frameLength + frameLength*(longQuot+1)/8 + 16

// appendReadings codes raw and appends it to out.
func appendReadings(out []byte, raw []int64) []byte {
	if len(raw) == 0 {
		return out
	}
	out = binary.AppendVarint(out, raw[0])
	h := history{last: raw[0], mean: raw[0]}
	var u remainders
	for len(raw) > 0 {
		frame := raw[:min(frameLength, len(raw))]
		raw = raw[len(frame):]
		order, mean := choose(frame)
		h.foresee(order, mean, frame, &u)
		n := len(frame)
		shift := riceShift(u[:n])
		out = append(slices.Grow(out, frameRoom), byte(uint(order)<<shiftBits2|shift))
		if order == byMean {
			out = binary.AppendVarint(out, mean-h.mean)
			h.mean = mean
		}
		out = appendLow(out, &u, n, shift)
		out = appendQuotients(out, &u, n, shift)
		h.step(frame)
	}
	return out
}

// sampled is the distance of the readings of a frame that are looked at to
// choose how to code it. How well that is chosen decides the size only.
func sampled(n int) int {
	if n < 64 {
		return 1
	}
	return 4
}

// choose finds the predictor with the smallest remainders, and the mean.
func choose(frame []int64) (predictor, int64) {
	var sum int64 // of distances from the first reading: does not overflow for real readings
	for _, v := range frame {
		sum += v - frame[0]
	}
	n := int64(len(frame))
	mean := frame[0] + (sum+n/2)/n
	if n < 3 {
		return byLast, mean
	}
	var cost [predictors]int // bits, about: so that a spike does not decide it
	for i, step := 2, sampled(len(frame)); i < len(frame); i += step {
		v, d, before := frame[i], frame[i]-frame[i-1], frame[i-1]-frame[i-2]
		cost[byMean] += bits.Len64(fold(v - mean))
		cost[byLast] += bits.Len64(fold(d))
		cost[bySlope] += bits.Len64(fold(d - before))
	}
	best := byMean
	for p := byLast; p < predictors; p++ {
		if cost[p] < cost[best] {
			best = p
		}
	}
	return best, mean
}

// foresee fills u with what the predictor leaves of the frame.
func (h *history) foresee(p predictor, mean int64, frame []int64, u *remainders) {
	last, slope := h.last, h.slope
	switch p {
	case byMean:
		for i, v := range frame {
			u[i&(frameLength-1)] = fold(v - mean)
		}
	case byLast:
		for i, v := range frame {
			u[i&(frameLength-1)] = fold(v - last)
			last = v
		}
	default:
		for i, v := range frame {
			d := v - last
			u[i&(frameLength-1)] = fold(d - slope)
			last, slope = v, d
		}
	}
	clear(u[len(frame):])
}

// riceShift is the shift that codes the numbers in the fewest bits, as far as
// those looked at tell: the best one near the logarithm of their mean.
func riceShift(u []uint64) uint {
	var sum, n uint64
	for i, step := 0, sampled(len(u)); i < len(u); i += step {
		sum += min(u[i], math.MaxUint64/frameLength)
		n++
	}
	best := uint(max(bits.Len64(sum/n), 1) - 1)
	least := riceLength(u, best)
	down := best
	for ; down > 0; down-- {
		length := riceLength(u, down-1)
		if length > least {
			break
		}
		best, least = down-1, length
	}
	for up := best + 1; best == up-1 && up < 64; up++ {
		if length := riceLength(u, up); length < least {
			best, least = up, length
		}
	}
	return best
}

// riceLength is how many bits the numbers take that are looked at.
func riceLength(u []uint64, shift uint) (total uint64) {
	for i, step := 0, sampled(len(u)); i < len(u); i += step {
		q := u[i] >> (shift & 63)
		if q >= longQuot {
			q = longQuot + 8*uint64(1+bits.Len64(q-longQuot)/7)
		}
		total += q + uint64(shift) + 1
	}
	return total
}

// appendLow writes the low bits: the lowest shift modulo 8 of each, eight
// remainders to so many bytes, then the bytes above them, one of each
// remainder after the other. out has room for more than that.
func appendLow(out []byte, u *remainders, n int, shift uint) []byte {
	at := len(out)
	out = out[:at+lowBytes(n, shift)+frameGroup]
	bitsOf := shift & 7
	if bitsOf > 0 {
		mask := uint64(1)<<bitsOf - 1
		for g := 0; g < n; g += frameGroup {
			x := (*[frameGroup]uint64)(u[g : g+frameGroup])
			w := x[7] & mask
			w = w<<bitsOf | x[6]&mask
			w = w<<bitsOf | x[5]&mask
			w = w<<bitsOf | x[4]&mask
			w = w<<bitsOf | x[3]&mask
			w = w<<bitsOf | x[2]&mask
			w = w<<bitsOf | x[1]&mask
			w = w<<bitsOf | x[0]&mask
			binary.LittleEndian.PutUint64(out[at:], w)
			at += int(bitsOf)
		}
	}
	for from := bitsOf; from < shift; from += 8 {
		plane := out[at : at+n]
		for i := range plane {
			plane[i] = byte(u[i&(frameLength-1)] >> (from & 63))
		}
		at += n
	}
	return out[:at]
}

// appendQuotients writes the quotients in unary, so many zeros and a one, the
// lowest bit of a byte first, and behind them the rests of the long ones. out
// has room for the unary part.
func appendQuotients(out []byte, u *remainders, n int, shift uint) []byte {
	shift &= 63
	var acc, most uint64
	var used uint // bits of acc, fewer than 8 before each group
	at := len(out)
	out = out[:cap(out)]
	for g := 0; g < n; g += 4 {
		x := (*[4]uint64)(u[g : g+4])
		a, b, c, d := x[0]>>shift, x[1]>>shift, x[2]>>shift, x[3]>>shift
		most = max(most, a, b, c, d)
		used += uint(min(a, longQuot))
		acc |= 1 << (used & 63)
		used += 1 + uint(min(b, longQuot))
		acc |= 1 << (used & 63)
		used += 1 + uint(min(c, longQuot))
		acc |= 1 << (used & 63)
		used += 1 + uint(min(d, longQuot))
		acc |= 1 << (used & 63)
		used++
		if beyond := g + 4 - n; beyond > 0 { // the zeros that fill up the last group
			used -= uint(beyond)
			acc &= 1<<(used&63) - 1
		}
		binary.LittleEndian.PutUint64(out[at:], acc)
		at += int(used >> 3)
		acc >>= used & 56
		used &= 7
	}
	if used > 0 {
		at++ // the byte is written
	}
	out = out[:at]
	if most >= longQuot {
		for _, v := range u[:n] {
			if q := v >> shift; q >= longQuot {
				out = binary.AppendUvarint(out, q-longQuot)
			}
		}
	}
	return out
}
