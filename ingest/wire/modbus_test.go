package wire

import (
	"encoding/hex"
	"encoding/json"
	"math"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/analysis/trace"
)

// The published check value, and the frames that are handed around with the
// standard: testdata/wire_checks.json.
func TestPublishedModbusFrames(t *testing.T) {
	t.Parallel()
	var p struct {
		CRC []struct {
			Name  string                       `json:"name"`
			Check string                       `json:"check_123456789"`
			Other []struct{ Data, CRC string } `json:"other_vectors"`
		} `json:"crc"`
		Modbus struct {
			Frames []struct{ What, Kind, Frame string } `json:"frames"`
		} `json:"modbus_rtu"`
	}
	b, err := os.ReadFile("testdata/wire_checks.json")
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(b, &p))
	require.Equal(t, "CRC-16/MODBUS", p.CRC[1].Name)
	checks := map[string]string{hex.EncodeToString([]byte("123456789")): p.CRC[1].Check}
	for _, v := range p.CRC[1].Other {
		checks[v.Data] = v.CRC
	}
	require.Len(t, checks, 4)
	for data, crc := range checks {
		want, err := strconv.ParseUint(crc, 0, 16)
		require.NoError(t, err)
		assert.Equal(t, uint16(want), crcModbus(unhex(t, data)), data)
	}
	require.Len(t, p.Modbus.Frames, 11)
	for _, f := range p.Modbus.Frames {
		assert.True(t, soundModbus(unhex(t, f.Frame)), f.What)
	}
	// Reading holding registers 0, 2 of unit 1, as a request of ours.
	assert.Equal(t, "010300000002c40b", hex.EncodeToString(ModbusConfig{Address: 1, Type: "int32"}.request(nil)))
	assert.Equal(t, "110400080001b298", hex.EncodeToString(ModbusConfig{Address: 17, Function: 4, Register: 8, Type: "int16"}.request(nil)))
}

func modbus(t require.TestingT, c ModbusConfig) Decoder {
	c.Address, c.Unit = max(1, c.Address), "counts"
	d, err := New(Config{Format: Modbus, Modbus: c})
	require.NoError(t, err)
	return d
}

// answer is a frame with a right CRC around some bytes.
func answer(body ...byte) []byte {
	crc := crcModbus(body)
	return append(append([]byte{}, body...), byte(crc), byte(crc>>8))
}

func TestModbusValues(t *testing.T) {
	t.Parallel()
	float := func(f float32) []byte {
		v := math.Float32bits(f)
		return []byte{byte(v >> 24), byte(v >> 16), byte(v >> 8), byte(v)}
	}
	cases := []struct {
		kind, order string
		decimals    int
		registers   []byte
		want        Reading
	}{
		{"int16", "", 0, []byte{0x02, 0x2b}, Reading{Raw: 0x022b}},
		{"int16", "AB", 0, []byte{0xff, 0xfe}, Reading{Raw: -2}},
		{"int16", "BA", 0, []byte{0xfe, 0xff}, Reading{Raw: -2}},
		{"int16", "", 0, []byte{0x7f, 0xff}, Reading{Raw: 32767, Mark: trace.Overload}},
		{"int16", "", 0, []byte{0x80, 0x00}, Reading{Raw: -32768, Mark: trace.Overload}},
		{"uint16", "", 0, []byte{0x80, 0x00}, Reading{Raw: 32768}},
		{"uint16", "", 0, []byte{0xff, 0xff}, Reading{Raw: 65535, Mark: trace.Overload}},
		{"int32", "", 0, []byte{0x12, 0x34, 0x56, 0x78}, Reading{Raw: 0x12345678}},
		{"int32", "CDAB", 0, []byte{0x56, 0x78, 0x12, 0x34}, Reading{Raw: 0x12345678}},
		{"int32", "BADC", 0, []byte{0x34, 0x12, 0x78, 0x56}, Reading{Raw: 0x12345678}},
		{"int32", "DCBA", 0, []byte{0x78, 0x56, 0x34, 0x12}, Reading{Raw: 0x12345678}},
		{"int32", "", 0, []byte{0xff, 0xff, 0xff, 0xff}, Reading{Raw: -1}},
		{"int32", "", 0, []byte{0x7f, 0xff, 0xff, 0xff}, Reading{Raw: math.MaxInt32, Mark: trace.Overload}},
		{"uint32", "", 0, []byte{0xff, 0xff, 0xff, 0xfe}, Reading{Raw: math.MaxUint32 - 1}},
		{"float32", "", 2, float(12.34), Reading{Raw: 1234}},
		{"float32", "", 2, float(-0.0049), Reading{Raw: 0}},
		{"float32", "", 2, float(-0.0051), Reading{Raw: -1}},
		{"float32", "", 0, float(float32(math.NaN())), Reading{Mark: trace.Invalid}},
		{"float32", "", 0, float(float32(math.Inf(-1))), Reading{Mark: trace.Invalid}},
		{"float32", "", 9, float(1e30), Reading{Mark: trace.Invalid}},
	}
	for _, c := range cases {
		d := modbus(t, ModbusConfig{Type: c.kind, Order: c.order, Decimals: c.decimals})
		frame := answer(append([]byte{1, 3, byte(len(c.registers))}, c.registers...)...)
		assert.Equal(t, []Reading{c.want}, d.Decode(nil, frame), "%s %s % x", c.kind, c.order, c.registers)
		assert.Zero(t, d.Stats().Rejected)
	}
}

// What the far end may send beside an answer.
func TestModbusStream(t *testing.T) {
	t.Parallel()
	c := ModbusConfig{Address: 1, Type: "int16"}
	good := AppendAnswer(nil, c, 7)
	other := answer(2, 3, 2, 0, 9)
	wrong := append([]byte{}, good...)
	wrong[4] ^= 1
	join := func(parts ...[]byte) (all []byte) {
		for _, p := range parts {
			all = append(all, p...)
		}
		return all
	}
	cases := []struct {
		what      string
		stream    []byte
		readings  int
		refused   uint64
		complaint string
	}{
		{"two answers", join(good, good), 2, 0, ""},
		{"the request given back", join(c.request(nil), good), 1, 0, ""},
		{"a wrong CRC", join(wrong, good), 1, 1, ""},
		{"another instrument's answer", join(other, good), 1, 1, ""},
		{"garbage before", join([]byte{0, 1, 3, 1, 3}, good), 1, 1, ""},
		{"cut off, then whole", join(good[:4], good), 1, 1, ""},
		{"an answer of another length", join(answer(1, 3, 4, 0, 0, 0, 0), good), 1, 1, ""},
		{"an exception", answer(1, 0x83, 2), 0, 1, "The instrument answers with exception 2: it has no such register: look up its number, counted from 0, and the function."},
		{"an exception nobody knows", answer(1, 0x83, 99), 0, 1, "The instrument answers with exception 99: see its manual."},
		{"an exception, then an answer", join(answer(1, 0x83, 6), good), 1, 1, ""},
		{"two exceptions", join(answer(1, 0x83, 6), answer(1, 0x83, 6)), 0, 2, "The instrument answers with exception 6: it is busy: ask less often."},
	}
	for _, k := range cases {
		d := modbus(t, c)
		got := d.Decode(nil, k.stream)
		assert.Len(t, got, k.readings, k.what)
		assert.Equal(t, k.refused, d.Stats().Rejected, "%s: % x", k.what, d.LastRejected())
		assert.Equal(t, k.complaint, d.Complaint(), k.what)
		for _, r := range got {
			assert.Equal(t, Reading{Raw: 7}, r, k.what)
		}
	}
}

// Every single bit of an answer is changed: no reading comes of it, and the
// next answer is read again.
func TestModbusEverySingleDamagedBit(t *testing.T) {
	t.Parallel()
	for _, kind := range []string{"int16", "float32"} {
		c := ModbusConfig{Address: 1, Type: kind}
		good := AppendAnswer(nil, c, 0x1234)
		for bit := range 8 * len(good) {
			bad := append([]byte{}, good...)
			bad[bit/8] ^= 1 << (bit % 8)
			d := modbus(t, c)
			assert.Empty(t, d.Decode(nil, bad), "bit %d", bit)
			d.Reset()
			assert.Len(t, d.Decode(nil, good), 1, "bit %d", bit)
		}
	}
}

// What AppendAnswer writes, a decoder reads, however the bytes arrive and
// whatever garbage without the instrument's address is between.
func TestModbusRoundTrip(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		c := ModbusConfig{
			Address: rapid.IntRange(1, 247).Draw(t, "address"), Function: rapid.IntRange(3, 4).Draw(t, "function"),
			Type:  rapid.SampledFrom([]string{"int16", "uint16", "int32", "uint32", "float32"}).Draw(t, "type"),
			Order: rapid.SampledFrom([]string{"", "ABCD", "CDAB", "BADC", "DCBA"}).Draw(t, "order"), Unit: "kN", Decimals: 2,
		}
		low, high := map[string]int64{"int16": -32767, "int32": -1e9, "float32": -80_000}[c.Type], map[string]int64{"int16": 32766, "uint16": 65534, "float32": 80_000}[c.Type]
		if high == 0 {
			high = 1e9
		}
		var stream []byte
		var want, got []Reading
		for range rapid.IntRange(0, 9).Draw(t, "answers") {
			raw := rapid.Int64Range(low, high).Draw(t, "raw")
			want = append(want, Reading{Raw: raw})
			for range rapid.IntRange(0, 3).Draw(t, "garbage") {
				if b := rapid.Byte().Draw(t, "byte"); int(b) != c.Address {
					stream = append(stream, b)
				}
			}
			stream = AppendAnswer(stream, c, c.Bits(raw))
		}
		d, err := New(Config{Format: Modbus, Modbus: c})
		require.NoError(t, err)
		for len(stream) > 0 {
			n := rapid.IntRange(1, len(stream)).Draw(t, "split")
			got = d.Decode(got, stream[:n])
			stream = stream[n:]
		}
		assert.Equal(t, want, got)
	})
}
