package tracefile_test

import (
	"bytes"
	"errors"
	"fmt"
	"math/bits"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/unit"
	"tautlog/ingest/tracefile"
)

type badTrace struct {
	text    string
	options tracefile.Options
	reason  error
	line    int64
	says    string // part of the message
}

func badTraces() map[string]badTrace {
	comma := tracefile.Options{DecimalComma: true}
	return map[string]badTrace{
		"empty":                 {"", tracefile.Options{}, tracefile.ErrEmpty, 1, "the file is empty"},
		"only blank lines":      {"\n\n", tracefile.Options{}, tracefile.ErrEmpty, 2, "the file is empty"},
		"header only":           {"t_s,force_N\n", tracefile.Options{}, tracefile.ErrNoReadings, 1, "no readings below the header"},
		"header, no newline":    {"t_s,force_N", tracefile.Options{}, tracefile.ErrNoReadings, 1, "no readings"},
		"no header":             {"0,1\n0.001,2\n", tracefile.Options{}, tracefile.ErrNoColumn, 1, "no time column among 0, 1"},
		"one column":            {"force_N\n1\n", tracefile.Options{}, tracefile.ErrNoColumn, 1, "no header with a time and a force column"},
		"no time":               {"when,force_N\n0,1\n", tracefile.Options{}, tracefile.ErrNoColumn, 1, "t_s, time_s, time"},
		"no force":              {"t_s,load\n0,1\n", tracefile.Options{}, tracefile.ErrNoColumn, 1, "no force column among t_s, load"},
		"no unit":               {"t_s,force\n0,1\n", tracefile.Options{}, tracefile.ErrNoUnit, 1, "add --unit"},
		"no unit named":         {"t_s,load\n0,1\n", tracefile.Options{ForceColumn: "load"}, tracefile.ErrNoUnit, 1, "the column load does not say its unit"},
		"unknown unit":          {"t_s,force_stone\n0,1\n", tracefile.Options{}, tracefile.ErrUnit, 1, "force_stone ends in no known unit"},
		"two units":             {"t_s,force_kN\n0,1\n", tracefile.Options{Unit: unit.Newton}, tracefile.ErrUnit, 1, "in kN by its name, and was said to be in N; correct the name of the column, or leave out --unit"},
		"column not there":      {"t_s,force_N\n0,1\n", tracefile.Options{ForceColumn: "cell"}, tracefile.ErrNoColumn, 1, "no column cell among t_s, force_N"},
		"two forces":            {"t_s,force_N,force_kN\n0,1,2\n", tracefile.Options{}, tracefile.ErrAmbiguous, 1, "choose one with --force-column force_N"},
		"two times":             {"# x\nt_s,time,force_N\n0,1,2\n", tracefile.Options{}, tracefile.ErrAmbiguous, 2, "choose one with --time-column t_s"},
		"duplicate":             {"t_s,force_N,force_N\n0,1,2\n", tracefile.Options{}, tracefile.ErrDuplicate, 1, "2 columns are named force_N"},
		"NaN":                   {"t_s,force_N\n0,1\n0.001,NaN\n", tracefile.Options{}, tracefile.ErrNotFinite, 3, `force_N is "NaN", not a finite number`},
		"Inf":                   {"t_s,force_N\n0,-Inf\n", tracefile.Options{}, tracefile.ErrNotFinite, 2, "not a finite number"},
		"too large":             {"t_s,force_N\n0,1e999\n", tracefile.Options{}, tracefile.ErrNotFinite, 2, "not a finite number"},
		"too large in newtons":  {"t_s,force_kN\n0,1e307\n", tracefile.Options{}, tracefile.ErrNotFinite, 2, "not a finite number"},
		"text":                  {"t_s,force_N\n0,1\n0.001,2\n\n0.002,slack\n", tracefile.Options{}, tracefile.ErrNumber, 5, `force_N is "slack", not a number`},
		"text for a time":       {"t_s,force_N\n0,1\nsoon,2\n", tracefile.Options{}, tracefile.ErrNumber, 3, `t_s is "soon", not a number of seconds`},
		"NaN for a time":        {"t_s,force_N\nnan,1\n", tracefile.Options{}, tracefile.ErrNotFinite, 2, "t_s is"},
		"empty value":           {"t_s,force_N\n0,\n", tracefile.Options{}, tracefile.ErrNumber, 2, "force_N is empty"},
		"milliseconds":          {"time,force_N\n1764054841000,1\n", tracefile.Options{}, tracefile.ErrTime, 2, "are these milliseconds?"},
		"comma not asked for":   {"t_s;force_N\n0;1,5\n", tracefile.Options{}, tracefile.ErrComma, 2, "not a number; write a decimal point, or give --decimal-comma"},
		"comma asked for":       {"t_s;force_N\n0;1.5\n", comma, tracefile.ErrPoint, 2, "write a decimal comma, or leave out --decimal-comma"},
		"comma for all":         {"t_s,force_N\n0,001,1,5\n", comma, tracefile.ErrRagged, 2, "put a semicolon or a tab"},
		"ragged, less":          {"t_s,force_N\n0,1\n0.001\n0.002,3\n", tracefile.Options{}, tracefile.ErrRagged, 3, "1 column where the header has 2"},
		"ragged, more":          {"t_s,force_N\n0,1\n0.001,2,3\n", tracefile.Options{}, tracefile.ErrRagged, 3, "3 columns where the header has 2"},
		"comment below":         {"t_s,force_N\n0,1\n# slack\n", tracefile.Options{}, tracefile.ErrRagged, 3, "comments may only stand before the header"},
		"open quote":            {"t_s,force_N,note\n0,1,\"a\n0.001,2,b\n", tracefile.Options{}, tracefile.ErrRagged, 2, "a quoted value does not end"},
		"quote and more":        {"t_s,force_N,note\n0,1,\"a\"b\n", tracefile.Options{}, tracefile.ErrRagged, 2, "a quoted value does not end"},
		"time back":             {"t_s,force_N\n0,1\n0.002,2\n0.001,3\n", tracefile.Options{}, tracefile.ErrTimeBack, 4, "the time goes back from 0.002 s to 0.001 s"},
		"time repeated":         {"t_s,force_N\r\n0,1\r\n0.002,2\r\n0.0020,3\r\n", tracefile.Options{}, tracefile.ErrRepeated, 4, "the time 0.002 s is there twice"},
		"date back":             {"time,force_N\n2026-05-31T09:30:01Z,1\n2026-05-31T09:30:00Z,2\n", tracefile.Options{}, tracefile.ErrTimeBack, 3, "from 2026-05-31T09:30:01Z to 2026-05-31T09:30:00Z"},
		"date without a zone":   {"time,force_N\n2026-05-31T09:30:01,1\n", tracefile.Options{}, tracefile.ErrTime, 2, "with a zone"},
		"date, then seconds":    {"time,force_N\n2026-05-31T09:30:01Z,1\n5,2\n", tracefile.Options{}, tracefile.ErrTime, 3, "no RFC 3339 time"},
		"seconds, then date":    {"time,force_N\n5,2\n2026-05-31T09:30:01Z,1\n", tracefile.Options{}, tracefile.ErrNumber, 3, "not a number of seconds"},
		"no such day":           {"time,force_N\n2026-02-29T09:30:01Z,1\n", tracefile.Options{}, tracefile.ErrTime, 2, "2026-02-29T09:30:01Z"},
		"binary":                {"\x00\x01\x02\x03\n\x04", tracefile.Options{}, tracefile.ErrBinary, 1, "bytes that are no text"},
		"binary below":          {"t_s,force_N\n0,1\n0.0\x0001,2\n", tracefile.Options{}, tracefile.ErrBinary, 3, "bytes that are no text"},
		"UTF-16":                {"\xff\xfet\x00_\x00s\x00", tracefile.Options{}, tracefile.ErrBinary, 1, "save it as UTF-8"},
		"spreadsheet":           {"PK\x03\x04\x14\x00", tracefile.Options{}, tracefile.ErrBinary, 1, "save the sheet as CSV"},
		"carriage returns":      {"t_s,force_N\r0,1\r0.001,2\r", tracefile.Options{}, tracefile.ErrBinary, 1, "save it with line feeds"},
		"long header":           {strings.Repeat("x", 300<<10), tracefile.Options{}, tracefile.ErrLongLine, 1, "longer than 256 KiB"},
		"long line":             {"t_s,force_N\n0,1\n0.001," + strings.Repeat("1", 600<<10) + "\n", tracefile.Options{}, tracefile.ErrLongLine, 3, "longer than 256 KiB"},
		"gzip without an end":   {string(gzipped([]byte("t_s,force_N\n0,1\n0.001,2\n"))[:20]), tracefile.Options{}, tracefile.ErrCompressed, 1, "damaged or cut off"},
		"gzip of nothing known": {"\x1f\x8b\x08", tracefile.Options{}, tracefile.ErrCompressed, 1, "damaged or cut off"},
		"zstd wants memory":     {zstdWindow(256 << 20), tracefile.Options{}, tracefile.ErrCompressed, 1, "pack it again, without --long"},
		"zstd damaged":          {"\x28\xb5\x2f\xfd\x04\x58\x07\x00\x00", tracefile.Options{}, tracefile.ErrCompressed, 1, "damaged or cut off"},
	}
}

// zstdWindow is a small zstd file that asks for a window of a power of two, as
// RFC 8878, 3.1.1.1.2 lays it out, with its text in one raw block.
func zstdWindow(size int) string {
	const text = "t_s,force_N\n0,1\n"
	log := byte(bits.TrailingZeros(uint(size)))
	return "\x28\xb5\x2f\xfd\x00" + string([]byte{(log - 10) << 3, 1 | byte(len(text))<<3, 0, 0}) + text
}

// TestLargestWindow unpacks what asks for as much memory as the reference
// program gives without being told to: zstd 1.5.4 unpacks this file, and
// refuses one of twice the window.
func TestLargestWindow(t *testing.T) {
	t.Parallel()
	got, err := read(strings.NewReader(zstdWindow(128<<20)), tracefile.Options{})
	require.NoError(t, err)
	assert.Equal(t, []float64{1}, got.F)
}

func TestFaults(t *testing.T) {
	t.Parallel()
	for name, c := range badTraces() {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			_, err := read(strings.NewReader(c.text), c.options)
			require.ErrorIs(t, err, c.reason)
			found, ok := errors.AsType[*tracefile.Error](err)
			require.True(t, ok, "a fault is an *Error, not %T", err)
			assert.Equal(t, c.line, found.Line)
			assert.NotRegexp(t, ` --[^l]`, found.Problem+found.Remedy, "who sends a file by a page has no flags")
			assert.Contains(t, err.Error(), c.says)
			assert.True(t, strings.HasPrefix(err.Error(), fmt.Sprintf("standard input, line %d: ", c.line)), err.Error())
			assert.Less(t, len(err.Error()), 300, "one line that a person reads")
			assert.NotContains(t, err.Error(), "\n")
		})
	}
}

// The line is right however far into the file the fault is, also when it lies
// between two chunks, and the first of several faults is the one reported.
func TestFaultFarIntoTheFile(t *testing.T) {
	t.Parallel()
	text, want := longTrace(80_000)
	lines := bytes.SplitAfter(text, []byte("\n"))
	lines = lines[:len(want.T)+1]
	for _, at := range []int{1, 2, 6_543, 40_000, 79_999, 80_000} {
		swapped := append([][]byte{}, lines...)
		swapped[at] = []byte("x,NaN,5\n")
		if at < 80_000 {
			swapped[80_000] = []byte("ragged\n")
		}
		_, err := read(bytes.NewReader(bytes.Join(swapped, nil)), tracefile.Options{})
		require.ErrorIs(t, err, tracefile.ErrNotFinite)
		found, _ := errors.AsType[*tracefile.Error](err)
		assert.Equal(t, int64(at)+1, found.Line)
	}
}

// Every place in the file is once the place of the fault, so that some of them
// are the first line of a chunk.
func TestTimeGoesBackBetweenChunks(t *testing.T) {
	t.Parallel()
	const wide = 1000 // about 260 lines a chunk
	note := strings.Repeat("n", wide)
	for at := 252; at < 268; at++ {
		var b strings.Builder
		b.WriteString("t_s,force_N,note\n")
		for i := range 600 {
			s := i
			if i == at {
				s = i - 1
			}
			fmt.Fprintf(&b, "%d,1,%s\n", s, note)
		}
		_, err := read(strings.NewReader(b.String()), tracefile.Options{})
		require.ErrorIs(t, err, tracefile.ErrRepeated)
		found, _ := errors.AsType[*tracefile.Error](err)
		require.Equal(t, int64(at)+2, found.Line)
	}
}

func TestCutOffGzipSaysHowFarItGot(t *testing.T) {
	t.Parallel()
	text, _ := longTrace(50_000)
	packed := gzipped(text)
	_, err := read(bytes.NewReader(packed[:len(packed)/2]), tracefile.Options{})
	require.ErrorIs(t, err, tracefile.ErrCompressed)
	found, _ := errors.AsType[*tracefile.Error](err)
	assert.Greater(t, found.Line, int64(10_000))
	assert.Less(t, found.Line, int64(40_000))
}
