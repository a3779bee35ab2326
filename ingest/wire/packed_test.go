package wire

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/analysis/trace"
)

func packed(t require.TestingT) Decoder {
	d, err := New(Config{Format: Packed})
	require.NoError(t, err)
	return d
}

// The frame of the format's description, byte by byte and by hand; its CRC
// comes from the polynomial division below.
func TestFrameByHand(t *testing.T) {
	t.Parallel()
	body := []byte{
		1,          // version
		0x34, 0x12, // sequence 0x1234
		0x78, 0x56, 0x34, 0x12, // tick 0x12345678
		0xE8, 0x03, // 1000 µs
		2,                      // two readings
		0xFF, 0xFF, 0xFF, 0xFF, // -1
		0x01, 0x02, 0x03, 0x14, // 0x14030201
	}
	crc := divide(body)
	want := append(append([]byte{21}, body...), byte(crc), byte(crc>>8), 0)
	got := AppendFrame(nil, Frame{Seq: 0x1234, Tick: 0x12345678, Interval: 1000, Readings: []int32{-1, 0x14030201}})
	assert.Equal(t, want, got)

	d := packed(t)
	assert.Equal(t, []Reading{
		{Raw: -1, Tick: 0x12345678, Timed: true},
		{Raw: 0x14030201, Tick: 0x12345678 + 1000, Timed: true},
	}, d.Decode(nil, got))
	assert.Equal(t, Stats{Bytes: 22, Units: 1, Readings: 2}, d.Stats())
	assert.Nil(t, d.LastRejected())
}

// divide is the CRC as the definition has it, bit by bit.
func divide(data []byte) uint16 {
	crc := uint16(0xFFFF)
	for _, b := range data {
		crc ^= uint16(b) << 8
		for range 8 {
			top := crc >> 15
			crc <<= 1
			if top == 1 {
				crc ^= 0x1021
			}
		}
	}
	return crc
}

func frames(t *rapid.T) (all []Frame) {
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Frame {
		return Frame{
			Seq: rapid.Uint16().Draw(t, "seq"), Tick: rapid.Uint32().Draw(t, "tick"),
			Interval: rapid.Uint16Range(1, math.MaxUint16).Draw(t, "interval"),
			Readings: rapid.SliceOfN(rapid.OneOf(rapid.Int32Range(-300, 300), rapid.Int32()), 0, maxCount).Draw(t, "readings"),
		}
	}), 0, 6).Draw(t, "frames")
}

func TestPackedRoundTrip(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		var stream []byte
		var want, got []Reading
		for _, f := range frames(t) {
			stream = AppendFrame(stream, f)
			for i, r := range f.Readings {
				want = append(want, Reading{Raw: int64(r), Tick: f.Tick + uint32(i)*uint32(f.Interval), Timed: true})
			}
		}
		d := packed(t)
		for len(stream) > 0 {
			n := rapid.IntRange(1, len(stream)).Draw(t, "split")
			got = d.Decode(got, stream[:n])
			stream = stream[n:]
		}
		for i := range got { // frames in any order leave holes in the sequence
			got[i].Mark &^= trace.Lost
		}
		assert.Equal(t, want, got)
		assert.Zero(t, d.Stats().Rejected)
	})
}

func TestSequence(t *testing.T) {
	t.Parallel()
	type f struct {
		seq  uint16
		tick uint32
	}
	cases := []struct {
		what   string
		frames []f
		lost   uint64
		marked []int // readings that carry the mark
	}{
		{"without a hole", []f{{7, 0}, {8, 1000}, {9, 2000}}, 0, nil},
		{"three missing", []f{{7, 0}, {11, 4000}, {12, 5000}}, 3, []int{1}},
		{"three missing, tick not kept", []f{{7, 0}, {11, 0}}, 3, []int{1}},
		{"over the wrap", []f{{65535, 0}, {0, 1000}}, 0, nil},
		{"missing over the wrap", []f{{65534, 0}, {1, 3000}}, 2, []int{1}},
		{"tick over its wrap", []f{{65534, math.MaxUint32 - 500}, {1, 2499}}, 2, []int{1}},
		{"started again, early", []f{{500, 500_000}, {0, 0}, {1, 1000}}, 0, []int{1}},
		{"started again, late", []f{{60000, 60_000_000}, {0, 0}}, 0, []int{1}},
		{"the same again", []f{{7, 0}, {7, 0}}, 0, []int{1}},
	}
	for _, c := range cases {
		d := packed(t)
		var got []Reading
		for _, x := range c.frames {
			got = d.Decode(got, AppendFrame(nil, Frame{Seq: x.seq, Tick: x.tick, Interval: 1000, Readings: []int32{5}}))
		}
		var marked []int
		for i, r := range got {
			if r.Mark == trace.Lost {
				marked = append(marked, i)
			}
		}
		assert.Equal(t, c.marked, marked, c.what)
		assert.Equal(t, c.lost, d.Stats().Lost, c.what)
		assert.Len(t, got, len(c.frames), c.what)
	}
}

func TestResetForgetsSequenceAndHalfFrame(t *testing.T) {
	t.Parallel()
	d := packed(t)
	one := AppendFrame(nil, Frame{Seq: 1, Readings: []int32{1}})
	nine := AppendFrame(nil, Frame{Seq: 9, Readings: []int32{9}})
	d.Decode(nil, one)
	d.Decode(nil, one[:5])
	d.Reset()
	got := d.Decode(nil, nine)
	assert.Equal(t, []Reading{{Raw: 9, Timed: true}}, got)
	assert.Equal(t, Stats{Bytes: uint64(len(one) + 5 + len(nine)), Units: 2, Readings: 2}, d.Stats())
}

func TestFirstFragmentIsNoFault(t *testing.T) {
	t.Parallel()
	d := packed(t)
	whole := AppendFrame(nil, Frame{Seq: 1, Readings: []int32{1}})
	got := d.Decode(nil, append(append([]byte{}, whole[4:]...), whole...))
	assert.Len(t, got, 1)
	assert.Equal(t, uint64(1), d.Stats().Partial)
	assert.Zero(t, d.Stats().Rejected)
}

// Wrong version, length and CRC, each with everything else right.
func TestUnsoundFrames(t *testing.T) {
	t.Parallel()
	build := func(version, count byte, readings int, crc uint16) []byte {
		b := []byte{version, 1, 0, 0, 0, 0, 0, 232, 3, count}
		b = append(b, make([]byte, 4*readings)...)
		return append(stuff(nil, binary.LittleEndian.AppendUint16(b, divide(b)^crc)), 0)
	}
	cases := map[string][]byte{
		"version 0":                build(0, 2, 2, 0),
		"version 2":                build(2, 2, 2, 0),
		"a reading short":          build(1, 3, 2, 0),
		"a reading more":           build(1, 1, 2, 0),
		"one bit of the CRC":       build(1, 2, 2, 1),
		"empty of all but its CRC": {3, 0xFF, 0xFF, 0},
		"one byte":                 {1, 0},
		"block over the end":       {9, 1, 2, 0},
		"longer than any frame":    append(bytes.Repeat([]byte{7}, 3*maxStuffed), 0),
	}
	good := AppendFrame(nil, Frame{Seq: 1, Readings: []int32{42}})
	for what, bad := range cases {
		d := packed(t)
		d.Decode(nil, []byte{0})
		got := d.Decode(nil, append(append([]byte{}, bad...), good...))
		assert.Equal(t, []Reading{{Raw: 42, Timed: true}}, got, what)
		assert.Equal(t, uint64(1), d.Stats().Rejected, what)
		assert.Equal(t, bad[:min(len(bad)-1, maxStuffed)], d.LastRejected(), what)
	}
	d := packed(t)
	assert.Empty(t, d.Decode(nil, build(1, 0, 0, 0)), "a frame without readings is sound")
	assert.Equal(t, uint64(1), d.Stats().Units)
}

func TestReadingsWithoutIntervalHaveNoTick(t *testing.T) {
	t.Parallel()
	d := packed(t)
	got := d.Decode(nil, AppendFrame(nil, Frame{Tick: 5, Readings: []int32{1, 2}}))
	require.Len(t, got, 2)
	assert.False(t, got[0].Timed)
	assert.False(t, got[1].Timed)
}

// Every byte of the middle one of three frames is changed into every other
// value. No reading comes out that was not sent, and the frame behind the
// next terminator is read again: a CRC of 16 bits finds every error within 16
// bits, and no frame cut or joined by a damaged zero happens to be sound.
func TestEverySingleDamagedByte(t *testing.T) {
	t.Parallel()
	source := rand.New(rand.NewPCG(1, 2))
	for _, n := range []int{0, 1, 2, 10, 61} {
		var stream []byte
		var starts []int
		sent := map[Reading]bool{}
		for seq := range uint16(3) {
			f := Frame{Seq: seq, Tick: uint32(seq) * 10_000, Interval: 1000}
			for i := range n {
				v := int32(source.Uint32()) >> (source.Uint32() % 32)
				f.Readings = append(f.Readings, v)
				sent[Reading{Raw: int64(v), Tick: f.Tick + uint32(i)*1000, Timed: true}] = true
			}
			starts = append(starts, len(stream))
			stream = AppendFrame(stream, f)
		}
		for at := starts[1]; at < starts[2]; at++ {
			damageOne(t, stream, at, starts[2]-1 == at, n, sent)
		}
	}
}

func damageOne(t *testing.T, stream []byte, at int, terminator bool, n int, sent map[Reading]bool) {
	old := stream[at]
	defer func() { stream[at] = old }()
	for by := 1; by < 256; by++ {
		stream[at] = old ^ byte(by)
		d := packedDecoder{}
		got := d.Decode(nil, stream)
		want := 2 * n
		if terminator {
			want = n // the damaged terminator joins two frames
		}
		if len(got) != want {
			require.Len(t, got, want, "byte %d changed by %#x", at, by)
		}
		for _, r := range got {
			r.Mark = 0
			if !sent[r] {
				require.Contains(t, sent, r, "byte %d changed by %#x", at, by)
			}
		}
	}
}

// With any number of damaged bytes, what is read is what the chunks between
// the zeros that arrived hold, judged by a second reading of the format's
// description. A reading that was not sent could then only come from damage
// that left a right CRC; this happens once in some 65,536 badly damaged
// frames, and no decoder can tell.
func TestPackedAgainstTheDescription(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		stream := []byte{0}
		for _, f := range frames(t) {
			stream = AppendFrame(stream, f)
		}
		for range rapid.IntRange(0, 20).Draw(t, "damages") {
			at := rapid.IntRange(0, len(stream)-1).Draw(t, "at")
			switch rapid.IntRange(0, 2).Draw(t, "how") {
			case 0:
				stream[at] ^= rapid.ByteRange(1, 255).Draw(t, "by")
			case 1:
				stream = append(stream[:at], stream[at+1:]...)
			case 2:
				stream = append(stream[:at:at], append([]byte{rapid.Byte().Draw(t, "new")}, stream[at:]...)...)
			}
			if len(stream) == 0 {
				return
			}
		}
		var want []int64
		chunks := bytes.Split(stream, []byte{0})
		for _, c := range chunks[:len(chunks)-1] {
			want = append(want, described(c)...)
		}
		var got []int64
		for _, r := range packed(t).Decode(nil, stream) {
			got = append(got, r.Raw)
		}
		assert.Equal(t, want, got)
	})
}

// described reads one chunk as plainly as the format is described.
func described(chunk []byte) (readings []int64) {
	var body []byte
	for len(chunk) > 0 {
		code := int(chunk[0])
		if code > len(chunk) {
			return nil
		}
		body = append(body, chunk[1:code]...)
		chunk = chunk[code:]
		if code < 255 && len(chunk) > 0 {
			body = append(body, 0)
		}
	}
	if len(body) < 12 || body[0] != 1 || len(body) != 12+4*int(body[9]) {
		return nil
	}
	end := len(body) - 2
	if uint16(body[end])|uint16(body[end+1])<<8 != divide(body[:end]) {
		return nil
	}
	for i := 10; i < end; i += 4 {
		v := uint32(body[i]) | uint32(body[i+1])<<8 | uint32(body[i+2])<<16 | uint32(body[i+3])<<24
		readings = append(readings, int64(int32(v)))
	}
	return readings
}

func TestTooManyReadingsPanic(t *testing.T) {
	t.Parallel()
	assert.PanicsWithValue(t, "wire: more than 255 readings in a frame", func() {
		AppendFrame(nil, Frame{Readings: make([]int32, 256)})
	})
}

func ExampleNew() {
	d, err := New(Config{Format: Text, Text: TextConfig{Column: 2, Unit: "kN", Decimals: 2}})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, r := range d.Decode(nil, []byte("…lf a line\r\nST,+  12.34 kN\r\nST,- 0.5kN\r\nST, 12.3 lbf\r\n")) {
		fmt.Println(r.Raw)
	}
	fmt.Printf("%d refused: %s\n", d.Stats().Rejected, d.LastRejected())
	// Output:
	// 1234
	// -50
	// 1 refused: ST, 12.3 lbf
}
