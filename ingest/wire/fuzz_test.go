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

func FuzzText(f *testing.F) {
	f.Add([]byte("\nST,+  12.34 kN,7,1000\r\nOL\r\rST,- 1,8,2000\n"), []byte{0}, uint8(2), uint8(2), false, true)
	f.Add([]byte("1,5;2,5\r12\n"), []byte{3, 1}, uint8(1), uint8(1), true, false)
	f.Fuzz(func(t *testing.T, stream, steps []byte, column, decimals uint8, comma, counters bool) {
		c := TextConfig{
			Column: 1 + int(column)%maxColumn, Unit: "kN", Decimals: int(decimals) % (maxDecimals + 1), DecimalComma: comma,
			Overload: []string{"OL"}, Invalid: []string{"---"},
		}
		if counters {
			c.SeqColumn = 1 + c.Column%maxColumn
			c.TickColumn = 1 + c.SeqColumn%maxColumn
			c.TickScale, c.SeqWrap = 1000, 256
		}
		checkSplit(t, Config{Format: Text, Text: c}, stream, steps)
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
