package wire

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// checkSplit reads a stream at once, and parted at every cut that steps
// names, and wants the same readings, counts and refusals.
func checkSplit(t *testing.T, c Config, stream, steps []byte) {
	t.Helper()
	whole, err := New(c)
	require.NoError(t, err)
	parts, err := New(c)
	require.NoError(t, err)
	want := whole.Decode(nil, stream)
	var got []Reading
	rest := stream
	for i := 0; len(rest) > 0; i++ {
		n := len(rest)
		if len(steps) > 0 {
			n = min(n, 1+int(steps[i%len(steps)]))
		}
		got = parts.Decode(got, rest[:n])
		rest = rest[n:]
	}
	assert.Equal(t, want, got)
	assert.Equal(t, whole.Stats(), parts.Stats())
	assert.Equal(t, whole.LastRejected(), parts.LastRejected())

	s := whole.Stats()
	assert.Equal(t, uint64(len(stream)), s.Bytes)
	assert.Equal(t, uint64(len(want)), s.Readings)
	assert.LessOrEqual(t, s.Partial, uint64(1))
	assert.Equal(t, s.Rejected == 0, whole.LastRejected() == nil)
}

func FuzzPacked(f *testing.F) {
	frame := AppendFrame(nil, Frame{Seq: 1, Tick: 2, Interval: 1000, Readings: []int32{1, -1, 1 << 30}})
	f.Add(append(frame, AppendFrame(nil, Frame{Seq: 9})...), []byte{0, 3})
	f.Add(AppendFrame([]byte{5, 5}, Frame{Seq: 65535, Readings: make([]int32, 255)}), []byte{200})
	f.Fuzz(func(t *testing.T, stream, steps []byte) {
		checkSplit(t, Config{Format: Packed}, stream, steps)
	})
}

// fuzzedText is a configuration from a few drawn numbers, one bit of habits
// for each way of writing.
func fuzzedText(column, decimals uint8, habits uint16) Config {
	on := func(bit int) bool { return habits>>bit&1 == 1 }
	c := TextConfig{
		Column: 1 + int(column)%maxColumn, Unit: "kN", Decimals: int(decimals) % (maxDecimals + 1), DecimalComma: on(0),
		Overload: []string{"OL"}, Invalid: []string{"---"}, Exponent: on(2), UnitWritten: on(3), SignBehind: on(4),
	}
	other := func(after int) int { return 1 + after%maxColumn }
	if on(1) {
		c.SeqColumn = other(c.Column)
		c.TickColumn = other(c.SeqColumn)
		c.TickScale, c.SeqWrap = 1000, 256
	}
	if on(5) && !c.SignBehind {
		c.SignColumn = other(c.Column)
	}
	if on(6) {
		c.Thousands = "'"
	}
	if on(7) {
		c.StatusColumn, c.Status = other(c.Column+2), []string{"ST"}
	}
	if on(8) {
		for at := 1; at < maxColumn; at++ {
			c.Cuts = append(c.Cuts, 2*at)
		}
	}
	c.Parity = []Parity{"", EvenParity, OddParity, AnyParity}[habits>>9&3]
	ask := Ask{}
	if on(11) {
		ask = Ask{Poll: []string{"W", `W\r`}[habits>>12&1], Echo: true}
	}
	return Config{Format: Text, Text: c, Ask: ask}
}

func FuzzText(f *testing.F) {
	f.Add([]byte("\nST,+  12.34 kN,7,1000\r\nOL\r\rST,- 1,8,2000\n"), []byte{0}, uint8(2), uint8(2), uint16(2))
	f.Add([]byte("1,5;2,5\r12\n"), []byte{3, 1}, uint8(1), uint8(1), uint16(1))
	f.Add([]byte("\n1.5E+2-\r1'234-\n\x0212 kN\x03K\x02W\x025\x03"), []byte{1}, uint8(0), uint8(4), uint16(1<<2|1<<4|1<<6))
	f.Add([]byte("\n+ 12.30kN ST\r\n- 1E-3kN   \n"), []byte{5}, uint8(1), uint8(4), uint16(1<<5|1<<7|1<<8))
	f.Add([]byte("\nW12\rW\r13\rW\x0214\x03"), []byte{2}, uint8(0), uint8(0), uint16(1<<11))
	f.Add([]byte("\x8d1\xb2\x8d"), []byte{0}, uint8(0), uint8(0), uint16(1<<9))
	f.Fuzz(func(t *testing.T, stream, steps []byte, column, decimals uint8, habits uint16) {
		checkSplit(t, fuzzedText(column, decimals, habits), stream, steps)
	})
}

func FuzzModbus(f *testing.F) {
	c := ModbusConfig{Address: 17, Function: 3, Register: 107, Type: "float32", Unit: Counts, Decimals: 2}
	answer := AppendAnswer(nil, c, 0x41200000)
	f.Add(append(append(c.request(nil), answer...), answer[:4]...), []byte{0, 3}, uint8(4))
	f.Add(append(append([]byte{17, 3, 4, 0}, answer...), 17, 0x83, 2, 0xc1, 0x34), []byte{1}, uint8(4))
	f.Add(AppendAnswer(nil, ModbusConfig{Address: 17, Type: "int16"}, 0xfffe), []byte{6}, uint8(0))
	f.Fuzz(func(t *testing.T, stream, steps []byte, kind uint8) {
		c := c
		c.Type = []string{"int16", "uint16", "int32", "uint32", "float32"}[kind%5]
		c.Order = []string{"ABCD", "CDAB", "BADC", "DCBA"}[kind>>3&3]
		c.Function = 3 + int(kind>>5&1)
		checkSplit(t, Config{Format: Modbus, Modbus: c}, stream, steps)
	})
}

func FuzzPropose(f *testing.F) {
	f.Add([]byte("1,5;kN\r\n1,6;kN\r\n1,7;kN\r\n"))
	f.Add([]byte("1 1000 5.5\n2 1010 5.6\n3 1020 5.4\n4 1030 5.7\n5 1040 5.7\n"))
	f.Add(AppendFrame(nil, Frame{Readings: []int32{1}}))
	f.Fuzz(func(t *testing.T, sample []byte) {
		for _, p := range Propose(sample) {
			require.NoError(t, p.Config.Validate())
			require.NotEmpty(t, p.Reasons)
			d, err := New(p.Config)
			require.NoError(t, err)
			d.Decode(nil, sample[:min(len(sample), maxSample)])
			assert.Equal(t, d.Stats(), p.Stats)
			assert.Positive(t, p.Stats.Units)
			require.NoError(t, p.WithRate(100).Config.Validate())
		}
	})
}
