package wire

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// lines writes n lines of a format with a noisy reading in hundredths.
func lines(n int, line func(i int, reading float64) string) []byte {
	source := rand.New(rand.NewPCG(3, 4))
	var b strings.Builder
	b.WriteString("7\r\n") // the end of a line that began before
	for i := range n {
		b.WriteString(line(i, float64(1200+source.IntN(300))/100) + "\r\n")
	}
	b.WriteString("1") // the beginning of the next
	return []byte(b.String())
}

func TestPropose(t *testing.T) {
	t.Parallel()
	german := func(x float64) string { return strings.ReplaceAll(fmt.Sprintf("%.2f", x), ".", ",") }
	cases := []struct {
		what string
		line func(i int, x float64) string
		want TextConfig
	}{
		{"a bare number", func(_ int, x float64) string { return fmt.Sprintf("%.0f", x*100) },
			TextConfig{Column: 1, Unit: "counts", Fields: 1}},
		{"an indicator", func(_ int, x float64) string { return fmt.Sprintf("ST,GS,+%8.2f,kN", x) },
			TextConfig{Column: 3, Unit: "kN", Decimals: 2, Fields: 4, Overload: []string{"OL"}}},
		{"a unit attached, in capitals", func(_ int, x float64) string { return fmt.Sprintf("N %.1fKG", x) },
			TextConfig{Column: 2, Unit: "kgf", Decimals: 1, Fields: 2}},
		{"count, time and reading", func(i int, x float64) string { return fmt.Sprintf("%d;%d;%.2f", i, 5000+10*i, x) },
			TextConfig{Column: 3, Unit: "counts", Decimals: 2, Fields: 3, SeqColumn: 1, TickColumn: 2}},
		{"decimal comma", func(_ int, x float64) string { return german(x) + " kN" },
			TextConfig{Column: 1, Unit: "kN", Decimals: 2, Fields: 2, DecimalComma: true}},
		{"decimal comma between semicolons", func(i int, x float64) string { return fmt.Sprintf("%d;%s;t", i, german(x)) },
			TextConfig{Column: 2, Unit: "t", Decimals: 2, Fields: 3, DecimalComma: true, SeqColumn: 1}},
		{"a count before a comma", func(i int, x float64) string { return fmt.Sprintf("%d,%.0f", i+500, x*100) },
			TextConfig{Column: 2, Unit: "counts", Fields: 2, SeqColumn: 1}},
		{"overload words", func(i int, x float64) string {
			if i == 7 {
				return "OL"
			}
			return fmt.Sprintf("%.1f lbf", x)
		}, TextConfig{Column: 1, Unit: "lbf", Decimals: 1, Fields: 2, Overload: []string{"OL"}}},
		{"a unit that is none of force", func(_ int, x float64) string { return fmt.Sprintf("%.2f mV/V", x) },
			TextConfig{Column: 1, Unit: "counts", Decimals: 2, Fields: 2}},
		{"a minus behind", func(i int, x float64) string { return fmt.Sprintf("%.2f%s kN", x, []string{" ", "-"}[i%2]) },
			TextConfig{Column: 1, Unit: "kN", Decimals: 2, Fields: 2, SignBehind: true}},
		{"grouped thousands", func(_ int, x float64) string { return fmt.Sprintf("1,%03.0f.5 kN", x) },
			TextConfig{Column: 1, Unit: "kN", Decimals: 1, Fields: 2, Thousands: ","}},
		{"points for thousands", func(_ int, x float64) string { return fmt.Sprintf("1.%03.0f,5 kN", x) },
			TextConfig{Column: 1, Unit: "kN", Decimals: 1, Fields: 2, Thousands: ".", DecimalComma: true}},
		{"exponents", func(_ int, x float64) string { return fmt.Sprintf("%.3E kN", x) },
			TextConfig{Column: 1, Unit: "kN", Decimals: 2, Fields: 2, Exponent: true}},
		{"start and end of text with a checksum", func(_ int, x float64) string { return fmt.Sprintf("\x02ST %.2f kN\x03p", x) },
			TextConfig{Column: 2, Unit: "kN", Decimals: 2, Fields: 3, Overload: []string{"OL"}}},
	}
	for _, c := range cases {
		c.want.UnitWritten = c.want.Unit != "counts"
		all := Propose(lines(30, c.line))
		require.NotEmpty(t, all, c.what)
		assert.Equal(t, Config{Format: Text, Text: c.want}, all[0].Config, "%s: %v", c.what, all[0].Reasons)
		assert.Equal(t, uint64(30), all[0].Stats.Units, c.what)
		assert.Zero(t, all[0].Stats.Rejected, c.what)
		assert.LessOrEqual(t, len(all), maxProposals, c.what)
	}
}

func TestProposeSeesParity(t *testing.T) {
	t.Parallel()
	for _, parity := range []Parity{EvenParity, OddParity} {
		sample := lines(30, func(_ int, x float64) string { return fmt.Sprintf("ST,%.2f kN", x) })
		parity.add(sample)
		all := Propose(sample)
		require.NotEmpty(t, all)
		assert.Equal(t, parity, all[0].Config.Text.Parity)
		assert.Equal(t, 2, all[0].Config.Text.Column)
		assert.Equal(t, uint64(30), all[0].Stats.Units)
		assert.Zero(t, all[0].Stats.Rejected)
	}
}

func TestProposeTellsTheTicksUnitByTheRate(t *testing.T) {
	t.Parallel()
	sample := lines(30, func(i int, x float64) string { return fmt.Sprintf("%d %.2f kN", 100*i, x) })
	p := Propose(sample)[0]
	assert.InDelta(t, 100, p.TickStep, 1e-9)
	for rate, want := range map[float64]float64{10_000: 1, 9_000: 1, 10: 1000, 0.01: 1e6} {
		assert.InDelta(t, want, p.WithRate(rate).Config.Text.TickScale, 0, "%g lines a second", rate)
	}
	assert.Zero(t, p.WithRate(400).Config.Text.TickColumn, "25 µs a step is no clock")
	assert.Equal(t, p, p.WithRate(0))
}

func TestProposePacked(t *testing.T) {
	t.Parallel()
	sample := []byte{9, 9}
	for seq := range uint16(4) {
		sample = AppendFrame(sample, Frame{Seq: seq, Interval: 500, Readings: []int32{7, 8, int32(seq)}})
	}
	sample[len(sample)-5] ^= 0x40
	all := Propose(sample)
	require.Len(t, all, 1)
	assert.Equal(t, Config{Format: Packed}, all[0].Config)
	assert.Equal(t, uint64(2), all[0].Stats.Units)
	assert.Equal(t, []string{
		"2 frames with a right checksum, 6 readings in them, 1 refused",
		"the frames say one reading every 500 µs, 2000 a second",
		"the latest reading is 2 counts",
	}, all[0].Reasons)
}

func TestProposeNothing(t *testing.T) {
	t.Parallel()
	source := rand.New(rand.NewPCG(5, 6))
	noise := make([]byte, 4000)
	for i := range noise {
		noise[i] = byte(source.Uint32())
	}
	for what, sample := range map[string][]byte{
		"nothing": nil, "noise": noise, "half a line": []byte("12.3"), "words": []byte("\nhello\nthere\n"), "line ends": []byte("\r\n\r\n"),
	} {
		assert.Empty(t, Propose(sample), what)
	}
}
