package wire

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// stream is about a megabyte in the pieces of a serial read.
func stream(add func(dst []byte, i int) []byte) (pieces [][]byte, units int) {
	var all []byte
	for ; len(all) < 1<<20; units++ {
		all = add(all, units)
	}
	const piece = 4096
	for ; len(all) > piece; all = all[piece:] {
		pieces = append(pieces, all[:piece])
	}
	return append(pieces, all), units
}

func packedStream(perFrame int) ([][]byte, int) {
	return stream(func(dst []byte, i int) []byte {
		f := Frame{Seq: uint16(i), Tick: uint32(i * perFrame * 1000), Interval: 1000}
		for j := range perFrame {
			f.Readings = append(f.Readings, int32((i*7919+j*104729)%200_000-50_000))
		}
		return AppendFrame(dst, f)
	})
}

func textStream(c TextConfig) ([][]byte, int) {
	return stream(func(dst []byte, i int) []byte {
		return AppendLine(dst, c, Reading{Raw: int64((i*7919)%200_000 - 50_000), Tick: uint32(i * 1000)}, int64(i))
	})
}

func plainConfig() Config {
	return Config{Format: Text, Text: TextConfig{Column: 1, Unit: "kN", Decimals: 3}}
}

func fullConfig() Config {
	return Config{Format: Text, Text: TextConfig{
		Column: 3, Unit: "kN", Decimals: 3, TickColumn: 2, SeqColumn: 1, Fields: 3,
		Overload: []string{"OL", "OVER"}, Invalid: []string{"----"},
	}}
}

func bench(b *testing.B, c Config, pieces [][]byte) {
	d, err := New(c)
	require.NoError(b, err)
	readings := make([]Reading, 0, 4096)
	b.ReportAllocs()
	for b.Loop() {
		for _, p := range pieces {
			readings = d.Decode(readings[:0], p)
		}
	}
	s := d.Stats()
	b.SetBytes(1 << 20)
	b.ReportMetric(float64(s.Readings)/b.Elapsed().Seconds()/1e6, "Mreadings/s")
	b.ReportMetric(float64(s.Units)/b.Elapsed().Seconds()/1e6, "Munits/s")
}

func BenchmarkPackedOne(b *testing.B) { p, _ := packedStream(1); bench(b, Config{Format: Packed}, p) }
func BenchmarkPackedTen(b *testing.B) { p, _ := packedStream(10); bench(b, Config{Format: Packed}, p) }
func BenchmarkTextPlain(b *testing.B) {
	p, _ := textStream(plainConfig().Text)
	bench(b, plainConfig(), p)
}
func BenchmarkTextFull(b *testing.B) {
	p, _ := textStream(fullConfig().Text)
	bench(b, fullConfig(), p)
}

// Decoding allocates nothing once the caller's slice is large enough.
func TestDecodingAllocatesNothing(t *testing.T) {
	packedPieces, _ := packedStream(10)
	textPieces, _ := textStream(fullConfig().Text)
	odd := Config{Format: Text, Text: TextConfig{
		Column: 2, Unit: "kN", Decimals: 3, Cuts: []int{8, 30}, SignBehind: true, Thousands: "'", UnitWritten: true,
		StatusColumn: 1, Status: []string{"ST"}, Parity: EvenParity,
	}}
	oddPieces, _ := textStream(odd.Text)
	power := Config{Format: Text, Text: TextConfig{Column: 1, SignColumn: 2, Unit: "kN", Decimals: 3, Exponent: true}}
	powerPieces, _ := textStream(power.Text)
	registers := Config{Format: Modbus, Modbus: ModbusConfig{Address: 1, Type: "float32", Order: "CDAB", Unit: "kN", Decimals: 2}}
	registerPieces, _ := stream(func(dst []byte, i int) []byte {
		return AppendAnswer(dst, registers.Modbus, registers.Modbus.Bits(int64(i%1000)))
	})
	for _, c := range []struct {
		config Config
		pieces [][]byte
	}{{Config{Format: Packed}, packedPieces}, {fullConfig(), textPieces}, {odd, oddPieces}, {power, powerPieces}, {registers, registerPieces}} {
		d, err := New(c.config)
		require.NoError(t, err)
		readings := make([]Reading, 0, 8192)
		d.Decode(nil, []byte(withParity(c.config.Text.Parity, "\n")))
		d.Reset()
		refused := d.Stats().Rejected
		decode := func() {
			for _, p := range c.pieces {
				readings = d.Decode(readings[:0], p)
			}
		}
		assert.Zero(t, testing.AllocsPerRun(3, decode), string(c.config.Format))
		assert.Positive(t, d.Stats().Readings)
		assert.Equal(t, refused, d.Stats().Rejected)
	}
}
