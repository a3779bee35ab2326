// Package wire decodes the bytes that a load cell's amplifier sends into
// readings, and proposes how to read bytes that nobody has described yet. It
// is pure: bytes in, readings out, no clock, no port, no log.
//
// Three formats are read. Packed frames carry a CRC, so a reading whose bytes
// were damaged on the way is dropped; what a CRC of 16 bits lets through is
// about one badly damaged frame in 65,536. Answers of Modbus RTU carry a CRC of
// 16 bits as well. Lines of text carry no check: a
// digit that was damaged into another digit is read as that digit, in the
// reading as well as in the tick and the count. What can be seen to be wrong
// with a line is refused, never mended: see TextConfig.
package wire

import "tautlog/analysis/trace"

// Reading is one value as the instrument sent it.
type Reading struct {
	Raw   int64      // counts, or units of the last configured digit
	Tick  uint32     // the instrument's own time in µs, wraps at 2³²; meaningful where Timed
	Timed bool       // the instrument sent a tick
	Mark  trace.Mark // overload, invalid, or readings lost just before
}

// Stats counts what a decoder has seen since it was made.
type Stats struct {
	Bytes    uint64 `json:"bytes"`
	Units    uint64 `json:"units"`    // lines or frames taken
	Readings uint64 `json:"readings"` // readings taken
	Rejected uint64 `json:"rejected"` // lines or frames refused
	Partial  uint64 `json:"partial"`  // lines or frames left out because their beginning was not seen
	Lost     uint64 `json:"lost"`     // units missing by the instrument's own count
}

// Decoder turns a stream of bytes into readings, for any split of the stream.
type Decoder interface {
	// Decode takes the next bytes and appends the readings that they complete.
	Decode(dst []Reading, p []byte) []Reading
	// Reset forgets a half received line or frame and the sequence, as after
	// the line was unplugged.
	Reset()
	// Expect forgets a half received line or frame: a request is sent, so that
	// the next byte begins an answer.
	Expect()
	// Stats says what was taken and refused so far.
	Stats() Stats
	// LastRejected is a copy of the latest refused line or frame, without its
	// terminator and cut to a bounded length, for a listener to show; nil when
	// none was refused.
	LastRejected() []byte
	// Complaint is what the instrument itself said was wrong with its latest
	// answer, in words for people; empty when it was sound, or says nothing.
	Complaint() string
}
