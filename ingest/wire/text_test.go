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
	d.Decode(nil, []byte(withParity(c.Parity, "\n")))
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
		{"leading zeros", kN2, "0000012.34 kN\n-00.05\n000\n", []int64{1234, -5, 0}},
		{"line ends the other way round", counts, "1\n\r2\n\r3\n\r", []int64{1, 2, 3}},
		{"end of text alone", counts, "1\x032\x033\x03", []int64{1, 2, 3}},
		{"start of text alone begins, a line end ends", counts, "\x021\r\x022\r", []int64{1, 2}},
		{"a checksum behind the end of text", counts, "\x021\x03K\x022\x03\x7f\x023\x039\r\n\x024\x03\r", []int64{1, 2, 3, 4}},
		{"a checksum that looks like a control character", counts, "\x021\x03\x03\x022\x03\x02\x023\x03\r\x024\x03", []int64{1, 2, 3, 4}},
		{"other control characters are blanks", second, "a\x00\x011\x04\r\n\x06a \x7f2\n", []int64{1, 2}},
		{"minus behind", TextConfig{Column: 1, Unit: "kN", Decimals: 1, SignBehind: true}, "12.3-\n12.3+\n12.3 -\n12.3\n12.3- kN\n12.3 -,kN\n", []int64{-123, 123, -123, 123, -123, -123}},
		{"minus behind, the next field stays", TextConfig{Column: 2, Unit: "counts", SignBehind: true}, "5- 7\n5 - 7-\n", []int64{7, -7}},
		{"sign in a field of its own", TextConfig{Column: 3, SignColumn: 2, Unit: "kN", Decimals: 1}, "ST,-,12.3\nST,+,12.3\nST,,12.3 kN\n", []int64{-123, 123, 123}},
		{"thousands", TextConfig{Column: 1, Unit: "kN", Decimals: 2, Thousands: ","}, "1,234.56;1\n-12,345,678.9 kN\n999\n1234.5\n1,234\n", []int64{123456, -1234567890, 99900, 123450, 123400}},
		{"thousands with a decimal comma", TextConfig{Column: 1, Unit: "kN", Decimals: 1, DecimalComma: true, Thousands: "."}, "1.234,5\n", []int64{12345}},
		{"thousands with apostrophes", TextConfig{Column: 1, Unit: "N", Thousands: "'"}, "12'345 N\n", []int64{12345}},
		{"exponents", TextConfig{Column: 1, Unit: "kN", Decimals: 3, Exponent: true}, "1.2345E+01\n-1.5e2 kN\n12345678E-7\n5E-4\n4E-4\n7\n0E99\n1E-99\n", []int64{12345, -150000, 1235, 1, 0, 7000, 0, 0}},
		{"fixed columns", TextConfig{Column: 3, Unit: "kN", Decimals: 1, Cuts: []int{2, 4, 12}}, "STGS    12.3kN\nUSNT-   12.3kN\n\x02S   -    0.5KN\x03", []int64{123, -123, -5}},
		{"fixed columns that touch", TextConfig{Column: 2, Unit: "counts", Cuts: []int{3, 8}}, "00112345678\n002   -5678\n", []int64{12345, -5}},
		{"fixed columns, unit inside", TextConfig{Column: 2, Unit: "kgf", Cuts: []int{2}, UnitWritten: true}, "ST 12 kg\n", []int64{12}},
		{"status", TextConfig{Column: 2, Unit: "counts", StatusColumn: 1, Status: []string{"ST", "US"}}, "ST 1\nUS 2\nst 3\n", []int64{1, 2, 3}},
		{"even parity", TextConfig{Column: 1, Unit: "kN", Decimals: 2, Parity: EvenParity}, withParity(EvenParity, "12.34 kN\r\n"), []int64{1234}},
		{"odd parity", TextConfig{Column: 1, Unit: "kN", Decimals: 2, Parity: OddParity}, withParity(OddParity, "12.34 kN\r\n"), []int64{1234}},
		{"eighth bit of any kind", TextConfig{Column: 1, Unit: "counts", Parity: AnyParity}, "1\xb23\n\xb1\x8d", []int64{123, 1}},
		{"unit in every line", TextConfig{Column: 2, Unit: "kN", UnitWritten: true}, "a 12 kN\na 12kN\nkN 12\n", []int64{12, 12, 12}},
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
		"a word":                              {counts, "abc"},
		"no digits":                           {counts, "+"},
		"only a point":                        {kN2, "."},
		"two signs":                           {counts, "--5"},
		"sign behind":                         {counts, "5-"},
		"sign inside":                         {counts, "1-2"},
		"exponent":                            {counts, "1e3"},
		"two points":                          {kN2, "1.2.3"},
		"more decimals":                       {kN2, "1.234"},
		"more decimals, zero":                 {kN2, "1.230"},
		"decimals of counts":                  {counts, "1.5"},
		"grouped digits":                      {kN2, "1'234"},
		"comma for point":                     {TextConfig{Column: 1, Unit: "kN", Decimals: 2, Fields: 1}, "1,23"},
		"point for comma":                     {TextConfig{Column: 1, Unit: "kN", Decimals: 2, DecimalComma: true}, "1.23"},
		"other unit attached":                 {kN2, "1.23kgf"},
		"other unit beside":                   {kN2, "1.23 t"},
		"other unit before":                   {TextConfig{Column: 2, Unit: "kN"}, "kgf 12"},
		"unknown unit attached":               {kN2, "1.23kX"},
		"letter in counts":                    {counts, "123t"},
		"force where counts are":              {counts, "123 kN"},
		"minus behind where signs are before": {kN2, "12.3-"},
		"minus before where signs are behind": {TextConfig{Column: 1, Unit: "counts", SignBehind: true}, "-5"},
		"two signs, before and behind":        {TextConfig{Column: 1, Unit: "counts", SignBehind: true}, "-5-"},
		"sign field and a sign":               {TextConfig{Column: 2, Unit: "counts", SignColumn: 1}, "+;-5"},
		"sign field with a word":              {TextConfig{Column: 2, Unit: "counts", SignColumn: 1}, "x;5"},
		"groups of two":                       {TextConfig{Column: 1, Unit: "kN", Thousands: ","}, "12,34"},
		"groups of four":                      {TextConfig{Column: 1, Unit: "kN", Thousands: ","}, "1,2345"},
		"a group too long before":             {TextConfig{Column: 1, Unit: "kN", Thousands: ","}, "1234,567"},
		"a group behind the point":            {TextConfig{Column: 1, Unit: "kN", Decimals: 9, Thousands: ","}, "1.234,567"},
		"a group cut off":                     {TextConfig{Column: 1, Unit: "kN", Thousands: ","}, "1,23"},
		"begins with a group":                 {TextConfig{Column: 1, Unit: "kN", Thousands: ","}, ",123"},
		"grouped and not told":                {TextConfig{Column: 1, Unit: "kN", Fields: 2}, "1,234,kN"},
		"half an exponent":                    {TextConfig{Column: 1, Unit: "kN", Exponent: true}, "1E+"},
		"an exponent too large":               {TextConfig{Column: 1, Unit: "kN", Exponent: true}, "1E+40"},
		"an unknown status":                   {TextConfig{Column: 2, Unit: "kN", StatusColumn: 1, Status: []string{"ST"}}, "XX 5"},
		"no unit where it is written":         {TextConfig{Column: 1, Unit: "kN", UnitWritten: true}, "5"},
		"a unit that nobody knows":            {TextConfig{Column: 1, Unit: "kN", UnitWritten: true}, "5 furlongs"},
		"ounces":                              {TextConfig{Column: 1, Unit: "kN"}, "5 oz"},
		"a short fixed line":                  {TextConfig{Column: 2, Unit: "kN", Cuts: []int{2, 9}}, "ST   12."},
		"too few fields":                      {three, "a 5"},
		"too many fields":                     {three, "a 5 b c"},
		"no such field":                       {TextConfig{Column: 4, Unit: "counts"}, "1 2 3"},
		"more fields than ever":               {counts, strings.Repeat("1 ", 40)},
		"too large":                           {counts, "9999999999999999999"},
		"too large when scaled":               {TextConfig{Column: 1, Unit: "counts", Decimals: 9}, "99999999999"},
		"tick no number":                      {TextConfig{Column: 1, Unit: "counts", TickColumn: 2}, "5 x"},
		"tick missing":                        {TextConfig{Column: 1, Unit: "counts", TickColumn: 2}, "5"},
		"tick negative":                       {TextConfig{Column: 1, Unit: "counts", TickColumn: 2}, "5 -7"},
		"count no number":                     {TextConfig{Column: 1, Unit: "counts", SeqColumn: 2}, "5 x"},
		"count not whole":                     {TextConfig{Column: 1, Unit: "counts", SeqColumn: 2}, "5 1.5"},
		"count beyond its wrap":               {TextConfig{Column: 1, Unit: "counts", SeqColumn: 2, SeqWrap: 256}, "5 256"},
		"binary":                              {counts, "\xff\xfe\x80"},
		"too long":                            {counts, "5 " + strings.Repeat("x", 300)},
	}
	for what, c := range cases {
		got, d := decodeText(t, c.c, c.line+"\r\n")
		assert.Empty(t, got, what)
		assert.Equal(t, uint64(1), d.Stats().Rejected, what)
		assert.Equal(t, c.line[:min(len(c.line), maxLine)], string(d.LastRejected()), what)
	}
}

func withParity(p Parity, s string) string {
	b := []byte(s)
	p.add(b)
	return string(b)
}

// A byte of wrong parity makes its line one that is refused, wherever it is.
func TestWrongParityIsRefused(t *testing.T) {
	t.Parallel()
	good := withParity(EvenParity, "ST 12.3\r\n")
	c := TextConfig{Column: 2, Unit: "counts", Decimals: 1, Parity: EvenParity}
	for at := range len(good) {
		for bit := range 8 {
			bad := []byte(good)
			bad[at] ^= 1 << bit
			got, d := decodeText(t, c, string(bad)+good+good)
			for _, r := range got {
				assert.Equal(t, int64(123), r.Raw, "byte %d, bit %d", at, bit)
			}
			assert.Equal(t, uint64(1), d.Stats().Rejected, "byte %d, bit %d: %q", at, bit, d.LastRejected())
		}
	}
}

// A change of the unit in mid-stream is refused until it changes back.
func TestUnitChangesInMidStream(t *testing.T) {
	t.Parallel()
	got, d := decodeText(t, TextConfig{Column: 2, Unit: "kgf", UnitWritten: true}, "ST 100 kg\nST 220 lb\nST 981 N\nST 0.1 t\nST 1 kN\nST 35 st\nST 5\nST 101 kg\n")
	assert.Equal(t, []Reading{{Raw: 100}, {Raw: 101}}, got)
	assert.Equal(t, uint64(6), d.Stats().Rejected)
}

// Text that was cut off by the start of the next one is no reading.
func TestTextCutOffIsRefused(t *testing.T) {
	t.Parallel()
	got, d := decodeText(t, TextConfig{Column: 1, Unit: "counts"}, "\x0212\x02123\x03\x0255\r")
	assert.Equal(t, []Reading{{Raw: 123}, {Raw: 55}}, got)
	assert.Equal(t, "12", string(d.LastRejected()))
	fresh, err := New(Config{Format: Text, Text: TextConfig{Column: 1, Unit: "counts"}})
	require.NoError(t, err)
	assert.Equal(t, []Reading{{Raw: 7}}, fresh.Decode(nil, []byte("3\x027\x03")), "the start of text shows that the line is whole")
	assert.Equal(t, uint64(1), fresh.Stats().Partial)
}

func TestEchoOfThePoll(t *testing.T) {
	t.Parallel()
	cases := []struct {
		what, poll, lines string
		want              []Reading
		refused           uint64
	}{
		{"a line of its own", `W\r`, "W\r\n12\r\nW\r13\r", []Reading{{Raw: 12}, {Raw: 13}}, 0},
		{"before the answer", `W`, "W12\r\nW  13\r\n", []Reading{{Raw: 12}, {Raw: 13}}, 0},
		{"a poll of digits is not cut off a reading", `1\r`, "1\r12\r1\r13\r", []Reading{{Raw: 12}, {Raw: 13}}, 0},
		{"without it the line is refused", `1`, "112\r3\r", []Reading{{Raw: 12}}, 1},
		{"before a start of text", `W`, "W\x0212\x03W\x0213\x03\x0214\x03", []Reading{{Raw: 12}, {Raw: 13}, {Raw: 14}}, 0},
		{"a line of its own before a start of text", `\x05W\r`, "\x05W\r\x0212\x03", []Reading{{Raw: 12}}, 0},
	}
	for _, c := range cases {
		d, err := New(Config{Format: Text, Text: TextConfig{Column: 1, Unit: "counts"}, Ask: Ask{Poll: c.poll, Echo: true}})
		require.NoError(t, err)
		d.Decode(nil, []byte("\n"))
		assert.Equal(t, c.want, d.Decode(nil, []byte(c.lines)), c.what)
		assert.Equal(t, c.refused, d.Stats().Rejected, "%s: %q", c.what, d.LastRejected())
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
		"format":            {Format: "morse"},
		"text.column":       {Format: Text, Text: TextConfig{Unit: "kN"}},
		"text.unit":         {Format: Text, Text: TextConfig{Column: 1, Unit: "stone"}},
		"text.decimals":     {Format: Text, Text: TextConfig{Column: 1, Unit: "kN", Decimals: 10}},
		"text.fields":       {Format: Text, Text: TextConfig{Column: 3, Unit: "kN", Fields: 2}},
		"text.tick_column":  {Format: Text, Text: TextConfig{Column: 3, Unit: "kN", TickColumn: 3}},
		"text.tick_scale":   {Format: Text, Text: TextConfig{Column: 3, Unit: "kN", TickColumn: 1, TickScale: -1}},
		"text.seq_column":   {Format: Text, Text: TextConfig{Column: 3, Unit: "kN", SeqColumn: 33}},
		"text.seq_wrap":     {Format: Text, Text: TextConfig{Column: 3, Unit: "kN", SeqColumn: 1, SeqWrap: 1}},
		"text.overload":     {Format: Text, Text: TextConfig{Column: 1, Unit: "kN", Overload: []string{"over load"}}},
		"text.cuts":         {Format: Text, Text: TextConfig{Column: 3, Unit: "kN", Cuts: []int{4}}},
		"text.sign_column":  {Format: Text, Text: TextConfig{Column: 3, Unit: "kN", SignColumn: 3}},
		"text.thousands":    {Format: Text, Text: TextConfig{Column: 3, Unit: "kN", Thousands: ",", DecimalComma: true}},
		"text.status":       {Format: Text, Text: TextConfig{Column: 3, Unit: "kN", StatusColumn: 1}},
		"text.parity":       {Format: Text, Text: TextConfig{Column: 3, Unit: "kN", Parity: "both"}},
		"text.unit_written": {Format: Text, Text: TextConfig{Column: 3, Unit: "counts", UnitWritten: true}},
		"ask.poll":          {Format: Packed, Ask: Ask{Poll: "W"}},
		"ask.start":         {Format: Packed, Ask: Ask{Start: `\q`}},
		"ask.echo":          {Format: Packed, Ask: Ask{Echo: true}},
		"ask.every_ms":      {Format: Packed, Ask: Ask{Every: -1}},
		"ask.timeout_ms":    {Format: Packed, Ask: Ask{Timeout: 1e9}},
		"modbus.address":    {Format: Modbus, Modbus: ModbusConfig{Type: "int16", Unit: "kN"}},
		"modbus.function":   {Format: Modbus, Modbus: ModbusConfig{Address: 1, Function: 6, Type: "int16", Unit: "kN"}},
		"modbus.register":   {Format: Modbus, Modbus: ModbusConfig{Address: 1, Register: 65535, Type: "int32", Unit: "kN"}},
		"modbus.type":       {Format: Modbus, Modbus: ModbusConfig{Address: 1, Type: "int64", Unit: "kN"}},
		"modbus.order":      {Format: Modbus, Modbus: ModbusConfig{Address: 1, Type: "int32", Order: "AB", Unit: "kN"}},
		"modbus.unit":       {Format: Modbus, Modbus: ModbusConfig{Address: 1, Type: "int32"}},
		"modbus.decimals":   {Format: Modbus, Modbus: ModbusConfig{Address: 1, Type: "int32", Unit: "kN", Decimals: -1}},
		"text.invalid":      {Format: Text, Text: TextConfig{Column: 1, Unit: "kN", Invalid: []string{""}}},
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
	varyNotation(t, &c, cols)
	if rapid.Bool().Draw(t, "fixed") {
		for col := 1; col < 8; col++ {
			c.Cuts = append(c.Cuts, 28*col)
		}
	} else if rapid.Bool().Draw(t, "strict") {
		c.Fields = rapid.IntRange(c.columns(), 8).Draw(t, "fields")
	}
	return c
}

// varyNotation draws how numbers and lines are written.
func varyNotation(t *rapid.T, c *TextConfig, cols []int) {
	switch rapid.IntRange(0, 3).Draw(t, "sign") {
	case 1:
		c.SignBehind = true
	case 2:
		c.SignColumn = cols[3]
	}
	if rapid.Bool().Draw(t, "status") {
		c.StatusColumn, c.Status = cols[4], []string{"ST", "US"}
	}
	groups := []string{"", ",", "'"}
	if c.DecimalComma {
		groups[1] = "."
	}
	if c.Exponent = rapid.Bool().Draw(t, "exponent"); !c.Exponent {
		c.Thousands = rapid.SampledFrom(groups).Draw(t, "thousands")
	}
	c.UnitWritten = c.Unit != Counts && rapid.Bool().Draw(t, "unit written")
	c.Parity = rapid.SampledFrom([]Parity{"", EvenParity, OddParity, AnyParity}).Draw(t, "parity")
}

// What AppendLine writes, a decoder reads, however the bytes arrive.
func TestTextRoundTrip(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		c := textConfig(t)
		require.NoError(t, Config{Format: Text, Text: c}.Validate())
		stream := []byte{'\n'}
		c.Parity.add(stream)
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
			if r.Mark == trace.Overload && max(c.columns(), c.Fields, len(c.Cuts)+1) == c.used() {
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
