package wire

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/analysis/trace"
)

// decodeText reads lines from their beginning.
func decodeText(t require.TestingT, c TextConfig, lines string) ([]Reading, Decoder) {
	d, err := New(Config{Format: Text, Text: c})
	require.NoError(t, err)
	d.Decode(nil, []byte("\n"))
	return d.Decode(nil, []byte(lines)), d
}

func TestLines(t *testing.T) {
	t.Parallel()
	counts := TextConfig{Column: 1, Unit: "counts"}
	kN2 := TextConfig{Column: 1, Unit: "kN", Decimals: 2}
	second := TextConfig{Column: 2, Unit: "counts"}
	comma := TextConfig{Column: 1, Unit: "kN", Decimals: 3, DecimalComma: true}
	cases := []struct {
		what  string
		c     TextConfig
		lines string
		want  []int64
	}{
		{"LF, CR, CRLF mixed and empty lines", counts, "1\n2\r3\r\n\r\n\n4\r\r5\n", []int64{1, 2, 3, 4, 5}},
		{"signs", counts, "+1\n-2\n+  3\n- \t4\n", []int64{1, -2, 3, -4}},
		{"blanks around", counts, "  7  \n\t8\t\n", []int64{7, 8}},
		{"start and end of text marks", counts, "\x029\x03\r\n", []int64{9}},
		{"any separator", second, "a 1\na\t2\na,3\na;4\na , 5\na:6\na=7\na|8\na ;\t9\n", []int64{1, 2, 3, 4, 5, 6, 7, 8, 9}},
		{"an empty field counts", TextConfig{Column: 3, Unit: "counts"}, "a,,5\n,,6\n;;7\n", []int64{5, 6, 7}},
		{"a run of blanks counts once", second, "a     5\n", []int64{5}},
		{"a sign apart belongs to its digits", second, "ST,+   12\nST,-   12\nST -  12\n", []int64{12, -12, -12}},
		{"decimals", kN2, "12.34\n12.3\n12\n12.\n.5\n-.05\n", []int64{1234, 1230, 1200, 1200, 50, -5}},
		{"decimal comma", comma, "12,345;1\n-0,5\n7\n", []int64{12345, -500, 7000}},
		{"decimal comma, comma parts nothing", TextConfig{Column: 2, Unit: "counts", Decimals: 1, DecimalComma: true}, "1,5;2,5\n1,5 2,5\n", []int64{25, 25}},
		{"unit attached", kN2, "12.34kN\n12.34KN\n", []int64{1234, 1234}},
		{"unit beside", kN2, "12.34 kN\n12.34,kN\n", []int64{1234, 1234}},
		{"unit before", TextConfig{Column: 2, Unit: "kN"}, "kN 12\n", []int64{12}},
		{"mass for its weight", TextConfig{Column: 1, Unit: "kgf"}, "12kg\n12 kg\n12 kgf\n", []int64{12, 12, 12}},
		{"pounds", TextConfig{Column: 1, Unit: "lbf"}, "12lb\n12 lbs\n12 LBF\n", []int64{12, 12, 12}},
		{"the unit before belongs to another number", TextConfig{Column: 3, Unit: "kN"}, "5 t 7 kN\n5 t 7\n", []int64{7, 7}},
		{"a unit that only counts can stand for", TextConfig{Column: 1, Unit: "counts", Decimals: 4}, "1.2345 mV/V\n1.2345mV/V\n12 daN\n", []int64{12345, 12345, 120000}},
		{"largest", counts, "999999999999999999\n", []int64{999999999999999999}},
	}
	for _, c := range cases {
		got, d := decodeText(t, c.c, c.lines)
		var raw []int64
		for _, r := range got {
			assert.False(t, r.Timed, c.what)
			assert.Zero(t, r.Mark, c.what)
			raw = append(raw, r.Raw)
		}
		assert.Equal(t, c.want, raw, c.what)
		assert.Zero(t, d.Stats().Rejected, "%s: %q", c.what, d.LastRejected())
		assert.Equal(t, uint64(len(c.want)), d.Stats().Units, c.what)
	}
}

func TestLinesThatDoNotFit(t *testing.T) {
	t.Parallel()
	counts := TextConfig{Column: 1, Unit: "counts"}
	kN2 := TextConfig{Column: 1, Unit: "kN", Decimals: 2}
	three := TextConfig{Column: 2, Unit: "counts", Fields: 3}
	cases := map[string]struct {
		c    TextConfig
		line string
	}{
		"a word":                 {counts, "abc"},
		"no digits":              {counts, "+"},
		"only a point":           {kN2, "."},
		"two signs":              {counts, "--5"},
		"sign behind":            {counts, "5-"},
		"sign inside":            {counts, "1-2"},
		"exponent":               {counts, "1e3"},
		"two points":             {kN2, "1.2.3"},
		"more decimals":          {kN2, "1.234"},
		"more decimals, zero":    {kN2, "1.230"},
		"decimals of counts":     {counts, "1.5"},
		"grouped digits":         {kN2, "1'234"},
		"comma for point":        {TextConfig{Column: 1, Unit: "kN", Decimals: 2, Fields: 1}, "1,23"},
		"point for comma":        {TextConfig{Column: 1, Unit: "kN", Decimals: 2, DecimalComma: true}, "1.23"},
		"other unit attached":    {kN2, "1.23kgf"},
		"other unit beside":      {kN2, "1.23 t"},
		"other unit before":      {TextConfig{Column: 2, Unit: "kN"}, "kgf 12"},
		"unknown unit attached":  {kN2, "1.23kX"},
		"letter in counts":       {counts, "123t"},
		"force where counts are": {counts, "123 kN"},
		"too few fields":         {three, "a 5"},
		"too many fields":        {three, "a 5 b c"},
		"no such field":          {TextConfig{Column: 4, Unit: "counts"}, "1 2 3"},
		"more fields than ever":  {counts, strings.Repeat("1 ", 40)},
		"too large":              {counts, "9999999999999999999"},
		"too large when scaled":  {TextConfig{Column: 1, Unit: "counts", Decimals: 9}, "99999999999"},
		"tick no number":         {TextConfig{Column: 1, Unit: "counts", TickColumn: 2}, "5 x"},
		"tick missing":           {TextConfig{Column: 1, Unit: "counts", TickColumn: 2}, "5"},
		"tick negative":          {TextConfig{Column: 1, Unit: "counts", TickColumn: 2}, "5 -7"},
		"count no number":        {TextConfig{Column: 1, Unit: "counts", SeqColumn: 2}, "5 x"},
		"count not whole":        {TextConfig{Column: 1, Unit: "counts", SeqColumn: 2}, "5 1.5"},
		"count beyond its wrap":  {TextConfig{Column: 1, Unit: "counts", SeqColumn: 2, SeqWrap: 256}, "5 256"},
		"binary":                 {counts, "\xff\xfe\x80"},
		"too long":               {counts, "5 " + strings.Repeat("x", 300)},
	}
	for what, c := range cases {
		got, d := decodeText(t, c.c, c.line+"\r\n")
		assert.Empty(t, got, what)
		assert.Equal(t, uint64(1), d.Stats().Rejected, what)
		assert.Equal(t, c.line[:min(len(c.line), maxLine)], string(d.LastRejected()), what)
	}
}

func TestFirstLineIsLeftOut(t *testing.T) {
	t.Parallel()
	d, err := New(Config{Format: Text, Text: TextConfig{Column: 1, Unit: "counts"}})
	require.NoError(t, err)
	assert.Equal(t, []Reading{{Raw: 124}}, d.Decode(nil, []byte("3\n124\n")), "what was left of 123 is no reading")
	assert.Equal(t, Stats{Bytes: 6, Units: 1, Readings: 1, Partial: 1}, d.Stats())
	d.Decode(nil, []byte("12"))
	d.Reset()
	assert.Empty(t, d.Decode(nil, []byte("5\n")), "half lines of two connections are not joined")
	assert.Equal(t, uint64(2), d.Stats().Partial)
}

func TestOverlongLineEndsAtItsEnd(t *testing.T) {
	t.Parallel()
	got, d := decodeText(t, TextConfig{Column: 1, Unit: "counts"}, strings.Repeat("9", 100_000)+"\n5\n")
	assert.Equal(t, []Reading{{Raw: 5}}, got)
	assert.Equal(t, uint64(1), d.Stats().Rejected)
	assert.Len(t, d.LastRejected(), maxLine)
}

func TestTextTicks(t *testing.T) {
	t.Parallel()
	c := TextConfig{Column: 2, Unit: "counts", TickColumn: 1}
	cases := []struct {
		scale float64
		field string
		want  uint32
	}{
		{0, "123456", 123456},
		{1, "4294967296", 0}, // wraps at 2^32
		{1, "4294967297", 1},
		{1000, "5", 5000},
		{1000, "4294968", 704}, // 4294968000 - 2^32
		{1e6, "12.345678", 12345678},
		{1e6, "4294.967296", 0},
		{0.5, "3", 2}, // rounded to the nearest µs
	}
	for _, k := range cases {
		c.TickScale = k.scale
		got, _ := decodeText(t, c, k.field+" 1\n")
		assert.Equal(t, []Reading{{Raw: 1, Tick: k.want, Timed: true}}, got, "%s × %g", k.field, k.scale)
	}
}

func TestTextSequence(t *testing.T) {
	t.Parallel()
	cases := []struct {
		what  string
		wrap  int64
		lines string
		lost  uint64
		marks []trace.Mark
	}{
		{"without a hole", 0, "1 7\n2 7\n3 7\n", 0, []trace.Mark{0, 0, 0}},
		{"two missing", 0, "1 7\n4 7\n5 7\n", 2, []trace.Mark{0, trace.Lost, 0}},
		{"back, wrap unknown", 0, "254 7\n255 7\n0 7\n1 7\n", 0, []trace.Mark{0, 0, trace.Lost, 0}},
		{"wrap known", 256, "254 7\n255 7\n0 7\n3 7\n", 2, []trace.Mark{0, 0, 0, trace.Lost}},
		{"missing over the wrap", 10, "8 7\n1 7\n", 2, []trace.Mark{0, trace.Lost}},
		{"the same again", 0, "8 7\n8 7\n", 0, []trace.Mark{0, trace.Lost}},
		{"an unbelievable jump", 0, "8 7\n80000000 7\n", 0, []trace.Mark{0, trace.Lost}},
	}
	for _, c := range cases {
		got, d := decodeText(t, TextConfig{Column: 2, Unit: "counts", SeqColumn: 1, SeqWrap: c.wrap}, c.lines)
		var marks []trace.Mark
		for _, r := range got {
			marks = append(marks, r.Mark)
		}
		assert.Equal(t, c.marks, marks, c.what)
		assert.Equal(t, c.lost, d.Stats().Lost, c.what)
	}
}

func TestMarkWords(t *testing.T) {
	t.Parallel()
	c := TextConfig{Column: 2, Unit: "kN", Decimals: 1, Fields: 3, Overload: []string{"OL", "OVER"}, Invalid: []string{"---", "Err"}}
	got, d := decodeText(t, c, "ST,12.5,kN\nST,OL,kN\nol\nOL,99.9,kN\nUS,---,kN\nERR\nST,12.6,kN\nST,OLX,kN\n")
	assert.Equal(t, []Reading{
		{Raw: 125},
		{Raw: 125, Mark: trace.Overload | trace.Invalid},
		{Raw: 125, Mark: trace.Overload | trace.Invalid},
		{Raw: 999, Mark: trace.Overload},
		{Raw: 999, Mark: trace.Invalid},
		{Raw: 999, Mark: trace.Invalid},
		{Raw: 126},
	}, got)
	assert.Equal(t, "ST,OLX,kN", string(d.LastRejected()))
}

func TestConfigRefused(t *testing.T) {
	t.Parallel()
	cases := map[string]Config{
		"format":           {Format: "morse"},
		"text.column":      {Format: Text, Text: TextConfig{Unit: "kN"}},
		"text.unit":        {Format: Text, Text: TextConfig{Column: 1, Unit: "stone"}},
		"text.decimals":    {Format: Text, Text: TextConfig{Column: 1, Unit: "kN", Decimals: 10}},
		"text.fields":      {Format: Text, Text: TextConfig{Column: 3, Unit: "kN", Fields: 2}},
		"text.tick_column": {Format: Text, Text: TextConfig{Column: 3, Unit: "kN", TickColumn: 3}},
		"text.tick_scale":  {Format: Text, Text: TextConfig{Column: 3, Unit: "kN", TickColumn: 1, TickScale: -1}},
		"text.seq_column":  {Format: Text, Text: TextConfig{Column: 3, Unit: "kN", SeqColumn: 33}},
		"text.seq_wrap":    {Format: Text, Text: TextConfig{Column: 3, Unit: "kN", SeqColumn: 1, SeqWrap: 1}},
		"text.overload":    {Format: Text, Text: TextConfig{Column: 1, Unit: "kN", Overload: []string{"over load"}}},
		"text.invalid":     {Format: Text, Text: TextConfig{Column: 1, Unit: "kN", Invalid: []string{""}}},
	}
	for field, c := range cases {
		d, err := New(c)
		assert.Nil(t, d, field)
		require.ErrorIs(t, err, ErrConfig, field)
		assert.ErrorContains(t, err, field+" is ", field)
	}
}

func textConfig(t *rapid.T) TextConfig {
	cols := rapid.Permutation([]int{1, 2, 3, 4, 5, 6}).Draw(t, "columns")
	c := TextConfig{
		Column: cols[0], Decimals: rapid.IntRange(0, 9).Draw(t, "decimals"),
		Unit:         rapid.SampledFrom([]string{"counts", "kN", "N", "kgf", "t", "lbf"}).Draw(t, "unit"),
		DecimalComma: rapid.Bool().Draw(t, "comma"),
	}
	if rapid.Bool().Draw(t, "ticked") {
		c.TickColumn = cols[1]
		c.TickScale = rapid.SampledFrom([]float64{0, 1, 1000, 1e6, 62.5}).Draw(t, "scale")
	}
	if rapid.Bool().Draw(t, "counted") {
		c.SeqColumn = cols[2]
		c.SeqWrap = rapid.SampledFrom([]int64{0, 2, 256, 65536}).Draw(t, "wrap")
	}
	if rapid.Bool().Draw(t, "worded") {
		c.Overload, c.Invalid = []string{"OL", "OVER"}, []string{"----", "ERR"}
	}
	if rapid.Bool().Draw(t, "strict") {
		c.Fields = rapid.IntRange(c.columns(), 8).Draw(t, "fields")
	}
	return c
}

// What AppendLine writes, a decoder reads, however the bytes arrive.
func TestTextRoundTrip(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		c := textConfig(t)
		require.NoError(t, Config{Format: Text, Text: c}.Validate())
		stream := []byte{'\n'}
		var want, got []Reading
		held := int64(0)
		for seq := range int64(rapid.IntRange(0, 20).Draw(t, "lines")) {
			r := Reading{Raw: rapid.Int64Range(-1e12, 1e12).Draw(t, "raw")}
			if c.TickColumn > 0 {
				r.Tick, r.Timed = rapid.Uint32().Draw(t, "tick"), true
			}
			if len(c.Overload) > 0 {
				r.Mark = rapid.SampledFrom([]trace.Mark{0, 0, trace.Overload, trace.Invalid, trace.Overload | trace.Invalid}).Draw(t, "mark")
			}
			stream = AppendLine(stream, c, r, seq)
			if r.Mark == trace.Overload && max(c.columns(), c.Fields) == c.used() {
				r.Mark |= trace.Invalid // no room for both word and number
			}
			if r.Mark&trace.Invalid != 0 {
				r.Raw = held
			}
			held = r.Raw
			want = append(want, r)
		}
		d, err := New(Config{Format: Text, Text: c})
		require.NoError(t, err)
		for len(stream) > 0 {
			n := rapid.IntRange(1, len(stream)).Draw(t, "split")
			got = d.Decode(got, stream[:n])
			stream = stream[n:]
		}
		assert.Equal(t, want, got, "%s", d.LastRejected())
		assert.Zero(t, d.Stats().Rejected, "%s", d.LastRejected())
		assert.Zero(t, d.Stats().Lost)
	})
}
