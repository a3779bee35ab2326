package store

import (
	"encoding/binary"
	"hash/crc32"
	"math"
	"slices"

	"tautlog/analysis/trace"
	"tautlog/calc/words"
)

// Flags of a run within a payload.
const (
	runSameStep = 1 << iota // the step is that of the run before
	runOnGrid               // it starts where the grid of the run before goes on
	runMarked               // marks follow
	runSkipped              // the grid began before the run
	runFlags    = 1<<iota - 1
)

// codings are those that are read; the last one is written.
var codings = map[byte]func(raw []int64, in []byte) error{
	codingRice:   decodeCoding1,
	codingFrames: decodeReadings,
}

var errPayload = words.Kind("store.payload")

// encodePayload packs runs in time order, with their checksum. The layout is
// in the package comment.
func encodePayload(runs []Run) []byte {
	out := []byte{codingFrames}
	total := countReadings(runs)
	out = binary.AppendUvarint(out, uint64(total))
	out = binary.AppendUvarint(out, uint64(len(runs)))
	var before Run
	raw := make([]int64, 0, total)
	for _, r := range runs {
		out = appendRun(out, before, r)
		raw = append(raw, r.Raw...)
		before = r
	}
	out = appendReadings(out, raw)
	return binary.LittleEndian.AppendUint32(out, checksum(out))
}

func checksum(b []byte) uint32 { return crc32.Checksum(b, crc32.MakeTable(crc32.Castagnoli)) }

func countReadings(runs []Run) (n int) {
	for _, r := range runs {
		n += len(r.Raw)
	}
	return n
}

// gridEnd is where the grid of r goes on behind its last reading.
func (r Run) gridEnd() int64 {
	if len(r.Raw) == 0 {
		return 0
	}
	return r.At(len(r.Raw))
}

func appendRun(out []byte, before, r Run) []byte {
	var flags byte
	if r.Step == before.Step {
		flags |= runSameStep
	}
	if r.Start == before.gridEnd() {
		flags |= runOnGrid
	}
	if marked(r.Marks) {
		flags |= runMarked
	}
	if r.skip != 0 {
		flags |= runSkipped
	}
	out = binary.AppendUvarint(append(out, flags), uint64(len(r.Raw)))
	if flags&runOnGrid == 0 {
		out = binary.AppendVarint(out, r.Start-before.gridEnd())
	}
	if flags&runSameStep == 0 {
		out = binary.LittleEndian.AppendUint64(out, math.Float64bits(r.Step))
	}
	if flags&runSkipped != 0 {
		out = binary.AppendUvarint(out, uint64(r.skip))
	}
	if flags&runMarked != 0 {
		out = appendMarks(out, r.Marks)
	}
	return out
}

func marked(marks []trace.Mark) bool {
	for _, m := range marks {
		if m != 0 {
			return true
		}
	}
	return false
}

// appendMarks writes marks as stretches of equal ones.
func appendMarks(out []byte, marks []trace.Mark) []byte {
	for i := 0; i < len(marks); {
		j := i
		for j < len(marks) && marks[j] == marks[i] {
			j++
		}
		out = append(binary.AppendUvarint(out, uint64(j-i)), byte(marks[i]))
		i = j
	}
	return out
}

// decodePayload unpacks a payload after checking its checksum. Any damage is
// an error. The readings are in room, which grows where it is too small.
func decodePayload(cell int64, payload []byte, room *[]int64) ([]Run, error) {
	body := len(payload) - 4
	if body < 1 {
		return nil, words.Error("store.payload.short", errPayload, len(payload))
	}
	want, got := binary.LittleEndian.Uint32(payload[body:]), checksum(payload[:body])
	if want != got {
		return nil, words.Error("store.payload.checksum", got, want)
	}
	decode, known := codings[payload[0]]
	if !known {
		return nil, words.Error("store.payload.coding", payload[0])
	}
	in := scanner{in: payload[1:body]}
	total, count := in.uvarint(), in.uvarint()
	// A reading takes at least a bit and a run at least a byte: no damage
	// makes this ask for all memory.
	if in.bad || total > 8*uint64(len(in.in)) || count > uint64(len(in.in)) {
		return nil, errPayload
	}
	raw := slices.Grow((*room)[:0], int(total))[:total]
	*room = raw
	runs, err := in.runs(cell, int(count), raw)
	if err != nil {
		return nil, err
	}
	return runs, decode(raw, in.in)
}

// A scanner takes a byte slice apart from the front. After the first thing
// that is not there it is bad and gives zeros.
type scanner struct {
	in  []byte
	bad bool
}

// runs reads the heads of count runs, whose readings share raw.
func (in *scanner) runs(cell int64, count int, raw []int64) ([]Run, error) {
	runs := make([]Run, 0, count)
	var before Run
	for range count {
		r := in.run(before, raw)
		if in.bad || r.check() != nil {
			return nil, errPayload
		}
		r.Cell = cell
		raw = raw[len(r.Raw):]
		runs = append(runs, r)
		before = r
	}
	if len(raw) > 0 {
		return nil, errPayload
	}
	return runs, nil
}

func (in *scanner) run(before Run, raw []int64) (r Run) {
	flags, n := in.byte(), in.uvarint()
	if flags > runFlags || n == 0 || n > uint64(len(raw)) {
		in.bad = true
		return Run{}
	}
	r.Raw = raw[:n:n]
	r.Start, r.Step = before.gridEnd(), before.Step
	if flags&runOnGrid == 0 {
		r.Start += in.varint()
	}
	if flags&runSameStep == 0 {
		r.Step = math.Float64frombits(in.fixed64())
	}
	if flags&runSkipped != 0 {
		r.skip = int64(in.uvarint() & math.MaxInt64)
	}
	if flags&runMarked != 0 {
		r.Marks = in.marks(int(n))
	}
	return r
}

func (in *scanner) marks(n int) []trace.Mark {
	marks := make([]trace.Mark, 0, n)
	for len(marks) < n {
		length, mark := in.uvarint(), trace.Mark(in.byte())
		if in.bad || length == 0 || length > uint64(n-len(marks)) {
			in.bad = true
			return nil
		}
		for range length {
			marks = append(marks, mark)
		}
	}
	return marks
}

func (in *scanner) byte() byte {
	if len(in.in) == 0 {
		in.bad = true
		return 0
	}
	b := in.in[0]
	in.in = in.in[1:]
	return b
}

func (in *scanner) fixed64() uint64 {
	if len(in.in) < 8 {
		in.bad = true
		return 0
	}
	v := binary.LittleEndian.Uint64(in.in)
	in.in = in.in[8:]
	return v
}

func (in *scanner) uvarint() uint64 {
	v, n := binary.Uvarint(in.in)
	if n <= 0 {
		in.bad = true
		return 0
	}
	in.in = in.in[n:]
	return v
}

func (in *scanner) varint() int64 {
	v, n := binary.Varint(in.in)
	if n <= 0 {
		in.bad = true
		return 0
	}
	in.in = in.in[n:]
	return v
}
