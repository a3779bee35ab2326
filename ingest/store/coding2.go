package store

// The coding of readings, number 2: prediction, and Rice codes taken apart.
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
// The low bits of all remainders of a frame come first, in fields of one
// width, then the quotients of all in unary. So eight fields are packed and
// unpacked at once, and the quotients are read from a table a byte at a time:
// nothing hangs on where the code of the remainder before ended.
//
// All arithmetic wraps at 64 bits, so that every int64 comes back exactly.
// The layout is in the package comment.
const (
	codingFrames = 2

	frameLength = 256 // readings a frame
	frameGroup  = 8   // remainders whose low bits are packed together
	longQuot    = 13  // a quotient this long or longer has its rest behind the frame
	shiftBits2  = 6   // of the head of a frame
)

// remainders are those of a frame, folded.
type remainders [frameLength]uint64

// lowBytes is how many bytes the low bits of n remainders take: whole bytes of
// each, and the bits beside them in groups of eight.
func lowBytes(n int, shift uint) int {
	return n*int(shift>>3) + (n+frameGroup-1)/frameGroup*int(shift&7)
}
